report lift.trn
