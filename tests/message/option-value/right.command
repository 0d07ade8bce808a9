verify lift.trn --accept open
