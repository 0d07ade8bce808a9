shortlist shelf.trn top
