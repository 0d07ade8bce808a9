report lift.trn --output drawer
