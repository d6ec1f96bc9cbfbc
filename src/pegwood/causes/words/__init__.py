"""What the words of a finding or of a story say about faults and signs."""
