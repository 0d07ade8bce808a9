verify lift.trn.md
