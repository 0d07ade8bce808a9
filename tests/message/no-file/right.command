verify lift.trn
