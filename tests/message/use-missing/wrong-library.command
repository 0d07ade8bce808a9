verify wrong.trn --library house
