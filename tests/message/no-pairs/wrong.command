pairings parts.trn
