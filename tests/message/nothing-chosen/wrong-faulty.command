shortlist faulty.trn left --write
