"""Many orders at once: rows in, answers out, one by one. No web here."""
