"""What was dictated as the page shows it: words on one side, what was heard in them beside."""
