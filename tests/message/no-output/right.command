report lift.trn --output=- --format=text
