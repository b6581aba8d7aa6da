"""How fast it is, printed and never judged: `python -m tests.benchmarks` from the top of the project."""
