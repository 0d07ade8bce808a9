why lift.trn lift.speed
