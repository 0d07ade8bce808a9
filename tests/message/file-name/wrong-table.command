verify jars.csv
