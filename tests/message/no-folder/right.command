tabulate jars.trn --output tables
