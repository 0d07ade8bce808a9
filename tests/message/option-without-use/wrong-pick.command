shortlist lamp.trn strip --pick 2
