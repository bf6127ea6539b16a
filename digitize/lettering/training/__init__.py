"""The recipe of our reader's network: what is drawn, how it is trained, how it is exported, and how well it reads.

Run on a machine with one GPU and PyTorch::

    python -m digitize.lettering.training pack      # once, where packages can be fetched: .train/glyphs.npz, 3 MB
    python -m digitize.lettering.training           # train 540 s, export, calibrate, score

``train --start WEIGHTS`` goes on from earlier weights. The model in the package was trained 505 s from nothing on a
first version of this recipe, then 548 s on this one (66,000 steps, 2.4 million crops drawn, each seen some eight times
in changing exposures) on one H100 with 16 processors, which draw 4,000 crops a second.

What is drawn
-------------
faces.toml, faces.py
    Printed, technical, typewriter, stencil and hand faces and their packages; which are kept back.
hand.toml, hand.py
    Our own hands: figures with the variants of 1880 to 1960, and signs.
phrases.py and its word lists
    What is written. Half of all numbers are uniform over their digits.
setting.py
    A phrase set in a face: stacked and sloping fractions, limits, marks beside, over and between.
clutter.py, damage.py, draw.py
    What lies near, what a scan does to it, and how a finder would cut it out.

The network
-----------
plan.py
    Convolutions only, 1.4 million weights kept in half precision. Two outputs read each column: the row with what
    stands on top of stacks, and what stands below in stacks (`digitize.lettering.stacks`).
net.py, stream.py, train.py
    The plan in PyTorch, batches by width, one cycle of the learning rate by the clock. Training stops with an error if
    some training face was never drawn.
export.py
    ONNX with normalisation folded in; the file states the hash of this recipe.
score.py
    Temperature, ceiling and accepting threshold are fixed on the split "calibrate"; scores are of the split "test".
    Neither split's faces and own figure variants are ever trained on. Scores lie beside the model as scores.json.
"""
