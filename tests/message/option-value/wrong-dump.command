verify lift.trn --dump=everything
