"""The frame that holds the rooms together: where a workshop's folder lies, Django's settings, addresses, the server."""
