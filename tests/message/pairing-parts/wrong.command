pairings asks.trn
