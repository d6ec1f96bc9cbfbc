"""What jobs teach: minutes of steps, and families that no file describes yet."""
