pairings many.trn
