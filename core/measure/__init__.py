"""From calliper, drawing or picture to the sizes of an insert."""
