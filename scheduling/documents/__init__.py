"""Papers of this room, and the pictures on them."""
