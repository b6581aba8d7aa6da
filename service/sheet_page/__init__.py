"""The bench sheet as a page to print: what stands on it (page), and the two that write it, as HTML and as PDF.

Nothing here works anything out: every figure comes from the answer. One page for the pair, always.
"""
