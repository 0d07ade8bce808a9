shortlist arm.trn left
