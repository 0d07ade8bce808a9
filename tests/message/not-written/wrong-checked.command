report lift.trn --output ./lift.trn
