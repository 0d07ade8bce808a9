verify lift.trn --accept met
