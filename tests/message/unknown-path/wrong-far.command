why lift.trn carousel.angle
