shortlist closed.trn right
