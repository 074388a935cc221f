"""What a craft will reach in a contest, predicted without a flight: payload, level speed, minutes, and how sure that is."""
