"""Report: what leaves the building, with the doubtful first. Entry: `write.write_results`.

In: every stage's result. Out: the files of the output contract, each written under a temporary name and renamed.
"""
