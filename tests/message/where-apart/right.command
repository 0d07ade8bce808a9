pairings parts.trn --where lid.height<jar.height
