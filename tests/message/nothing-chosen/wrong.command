shortlist weak.trn left --write
