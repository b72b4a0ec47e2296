"""The simulated patient: it knows the truth and hands out evidence."""
