"""Many prints at once: find the pages, digitize them side by side, go on where a stopped run ended.

Glossary
--------
job
    One page of one file and the folder its results go to.
finished
    The folder holds `sheet.json`, which is moved there last, for the same bytes and page. A folder is its own proof:
    nothing else has to survive a power cut.
refused
    The folder holds `refused.json`: the sentence that says why this page can't be used. It is not tried again unless
    the file changes.
"""
