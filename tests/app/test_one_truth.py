"""Each screen says what the others say: checked on the demo and the cases of growers; planted faults are found."""
