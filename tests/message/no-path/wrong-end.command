why lift.trn --depth 1 --
