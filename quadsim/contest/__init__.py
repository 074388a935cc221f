"""What a craft will reach in a contest, predicted without a flight: payload, level speed, minutes of hover, and how sure that is."""
