report lift.trn --format pdf --output - --on tomorrow --all-forms=yes --library
