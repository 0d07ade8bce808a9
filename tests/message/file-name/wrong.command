verify lift.txt
