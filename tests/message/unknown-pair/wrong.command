pairings parts.trn --reasons smal,upper
