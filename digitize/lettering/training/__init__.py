"""The recipe of our reader's network: what is drawn, how it is trained, how it is exported, and how well it reads.

Run on a machine with one GPU and PyTorch::

    python -m digitize.lettering.training pack      # once, where packages can be fetched: .train/glyphs.npz, 5 MB
    python -m digitize.lettering.training           # train 540 s, export, calibrate, score

``train --start WEIGHTS --part 0.5 1`` goes on from earlier weights through the second half of the learning rate's
cycle, on all cards that there are; ``regrow`` makes such weights out of a model file; ``heads --cases 6000`` fits the
upper output layer again to new words, on any processor; ``score --test-seed 19001`` scores crops of a seed that no
training was judged by. The model in the package went on from its predecessor's weights (478,000 steps of one to four
batches on narrower recipes) through .72 to 1 of a cycle, in three runs of together 1,020 s on two H100 with 32
processors: 45,000 steps of two batches of some 420 crops, 4.2 million crops drawn, each seen some nine times in
changing shape, weight and exposure. Its weights are the mean over the last half of the last run. They had been kept in
eight bits when they were first rounded to seven.

What is drawn
-------------
faces.toml, faces.py
    Printed, technical, typewriter, stencil and hand faces and their packages; which are kept back. Book faces come in
    bold too: a small bold 3 closes to an 8. Of each kind several are kept back: by one alone no threshold is fixed.
hand.toml, hand.py
    Our own hands: figures with the variants of 1880 to 1960, and signs.
written.py, phrases.py and their word lists
    What is written. Half of all numbers are uniform over their digits.
free_rows.py
    Words and sizes in any order, a third of all that is written. From templates alone the network learns what follows
    what, and what no template holds is misread surely: "SCALE 1:2.5" as 12.5, the more so the longer the training.
pieces.py, manners.py, setting.py
    A phrase set in a face: stacked and sloping fractions, limits, marks beside, over and between. Each crop changes the
    shapes of its glyphs a little, and some take figures from several faces; some hands set fractions high or low. In
    training, hands also stray from their faces: waists and bars move, gaps are uneven, figures smaller than capitals.
    There too marks stand as on engraved plates: small, high over their figure or apart from it, and sloping strokes are
    long.
clutter.py, no_lettering.py, inked.py, damage.py, scanned.py, draw.py
    What lies near, what a finder takes for lettering, what a scan does to it, and how a finder would cut it out. In
    some training crops two figures lie over each other and either is told, as often the one as the other: of such a
    crop nothing is to be read surely.
legible.py
    What no eye could read is drawn again, for training and for scores: a full stop that has run into its neighbour, a
    mark that the scan has swallowed, a black scan. Without it most of the surest "wrong" readings were right.

The network
-----------
plan.py
    Convolutions only, 2.6 million weights kept in seven bits. Two outputs read each column: the row with what stands
    on top of stacks, and what stands below in stacks (`digitize.lettering.stacks`).
net.py, stream.py, source.py, again.py, passes.py, train.py, averaged.py
    The plan in PyTorch, batches by width, one cycle of the learning rate by the clock; between fresh batches older ones
    in another hand and exposure, each a few times and no more. Training stops with an error if some training face was
    never drawn. What is written is the mean of the weights over the last half of a run.
regrown.py
    Weights to go on from, out of a model file.
heads.py
    The upper output layer by itself, from what the layers before it see.
graph.py, export.py
    ONNX with normalisation folded in, all sums before the outputs in whole numbers; the file states the hash of this
    recipe.
met.py, rounding.py
    What the layers meet on crops of training faces, and kernels rounded by it.
score.py
    Temperature, ceiling and accepting threshold are fixed on the split "calibrate"; scores are of the split "test".
    Neither split's faces and own figure variants are ever trained on. Scores lie beside the model as scores.json.
"""
