verify lift.trn.md carousel.trn.md
