"""What is wrong with a camera, as pages show it."""
