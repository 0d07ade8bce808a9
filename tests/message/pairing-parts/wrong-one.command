pairings one.trn
