pairings parts.trn --form jar-on-shelves
