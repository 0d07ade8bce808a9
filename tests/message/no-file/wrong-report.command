report --output lift.html
