"""What surrounds the part and the instrument: air and heat."""
