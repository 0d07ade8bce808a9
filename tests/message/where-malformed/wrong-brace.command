pairings parts.trn --where }
