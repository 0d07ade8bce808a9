verify --accept open
