"""The layout of a pair on paper, at true size: what one looks at, prints and lays a lens on.

sheet: what is to be drawn. scene: lines, circles and words on a page. page: from the one to the other, with the help of
lens, key, foot, labels and letters. svg_writer and pdf_writer: the same scene as a file, so that the two cannot differ.
"""
