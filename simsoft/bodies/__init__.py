"""What can be solved: rod, plate, bending paddle, free lure; one folder each."""
