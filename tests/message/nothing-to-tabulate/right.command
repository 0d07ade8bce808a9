tabulate forms.trn jars.trn --output tables
