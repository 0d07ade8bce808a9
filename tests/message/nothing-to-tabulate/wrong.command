tabulate forms.trn --output tables
