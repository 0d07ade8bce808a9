verify lamp.trn --on 2027-04-01
