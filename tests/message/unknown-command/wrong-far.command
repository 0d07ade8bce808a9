measure lift.trn
