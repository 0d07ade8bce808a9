shortlist light.trn top
