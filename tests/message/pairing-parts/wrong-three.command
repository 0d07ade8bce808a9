pairings three.trn
