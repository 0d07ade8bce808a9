pairings parts.trn --reasons upper,small
