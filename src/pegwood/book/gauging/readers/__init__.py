"""One module for each instrument: from stored files and what was said beside them to its answer."""
