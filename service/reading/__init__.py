"""Reading prescriptions as people write them, and refusing to guess.

tokens: text to tokens, each with its place. grammar: tokens to figures, every token used or reported. remarks: what was
inferred, set aside or not understood. written: the whole, text in, structured prescription and remarks out.
"""
