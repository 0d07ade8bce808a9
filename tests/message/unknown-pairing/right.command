pairings parts.trn --form jar-on-shelf
