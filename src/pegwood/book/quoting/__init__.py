"""What a job may cost: the workshop's terms, what parts cost, the price as a distribution, and the alarm."""
