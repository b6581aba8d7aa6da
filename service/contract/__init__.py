"""The words of the service: what a request may hold and what an answer says."""
