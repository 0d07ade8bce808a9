shortlist weak.trn left
