verify lift.trn --colour
