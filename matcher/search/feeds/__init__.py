"""Who feeds whom: plans, links, and the slots of what hangs on them."""
