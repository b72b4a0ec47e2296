"""How long is this root canal? A course, a simulated patient and a grader for one decision."""
