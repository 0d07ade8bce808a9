pairings parts.trn --reasons small,upper
