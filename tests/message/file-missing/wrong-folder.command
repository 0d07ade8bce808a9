verify drawer.trn
