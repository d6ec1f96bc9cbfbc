"""Taking a camera apart and putting it together again, step by step, as the bench really did."""
