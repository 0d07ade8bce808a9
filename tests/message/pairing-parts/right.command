pairings fine.trn
