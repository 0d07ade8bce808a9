report lift.trn --output -
