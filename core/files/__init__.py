"""What Seatwright reads and writes: the project file, outlines to cut, and the content of the sheets."""
