"""One model for each kind of record: the only rule book of what a row must be.

Rules between fields sit at the later field and look back at the earlier ones, so that
a row with several faults names them all at once. That is why a few fields come in
another order than in the file description: an earlier day before a later one.
"""
