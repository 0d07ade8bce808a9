pairings few.trn --format csv --output pairs.csv
