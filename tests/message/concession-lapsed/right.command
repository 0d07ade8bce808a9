verify lamp.trn --on 2027-03-31
