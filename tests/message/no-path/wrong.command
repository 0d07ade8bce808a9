why lift.trn
