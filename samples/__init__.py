"""Prints of an invented mill museum, drawn with known truth, for tests, benches and demonstrations.

Input: a level ("clean", "aged", "harsh") and a seed. Output: a picture as a scanner or camera would have left it, and
a truth file that says where every stroke lies and what every figure means. The museum, its makers and its parts are
made up.

    design  (families)   what the part is, in exact fractions
    draft   (board, dimensioning, leaders, sections)   views, dimension lines, notes, in mm of paper
    letter  (lettering)  figures as pen strokes
    raster               strokes to ink, at true sub-pixel places
    age     (aging)      paper, scanner, time
"""
