"""The rules: one family a file, each rule a small function that reads facts and yields what it noticed."""
