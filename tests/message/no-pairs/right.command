pairings shelves.trn
