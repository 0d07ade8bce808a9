tabulate jars.trn
