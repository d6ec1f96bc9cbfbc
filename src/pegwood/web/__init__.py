"""Pages for the bench: forms, live fragments, charts."""
