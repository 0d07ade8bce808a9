pairings parts.trn --where (jar.mass<shelf.load
