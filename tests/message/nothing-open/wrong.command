shortlist arm.trn right
