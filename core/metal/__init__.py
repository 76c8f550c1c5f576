"""The metal of a piece: its curves, the order of adding and removing, slabs, walls, sections."""
