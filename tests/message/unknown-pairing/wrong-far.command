pairings parts.trn --form gearbox
