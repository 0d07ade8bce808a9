report lift.trn --output reports/lift.html
