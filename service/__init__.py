"""The web service: reads, checks and explains a spectacle order before it reaches the bench."""
