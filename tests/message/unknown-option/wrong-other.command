verify lift.trn --outptu lift.html
