shortlist arm.trn left --by jar.mass}
