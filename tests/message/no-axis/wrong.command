shortlist arm.trn
