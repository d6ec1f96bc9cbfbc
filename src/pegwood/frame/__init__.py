"""The frame that holds the rooms together: a workshop's folder, Django's settings, addresses, the server."""
