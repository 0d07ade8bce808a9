verfy lift.trn
