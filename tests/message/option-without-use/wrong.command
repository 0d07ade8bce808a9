verify lift.trn --output lift.html
