"""Nothing lost: bringing the book up to date, backing it up, restoring it, checking it."""
