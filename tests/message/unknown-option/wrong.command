report lift.trn --outptu lift.html
