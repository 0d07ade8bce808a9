verify lift.txt README.md lift.trn
