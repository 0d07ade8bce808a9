why lift.trn lift.sped
