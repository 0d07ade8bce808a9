pairings parts.trn --where stated(shelf.depth) --where lid.height<jar.height
