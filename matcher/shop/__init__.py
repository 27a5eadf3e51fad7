"""The shop: the one way in, for commands, pages, papers and tests.

>>> from matcher import Shop
>>> shop = Shop("no-such-folder/shop.duckdb")
>>> shop.fit("00123", "tern-8/dash-top")
Traceback (most recent call last):
...
matcher.errors.InputError: there is no store at no-such-folder/shop.duckdb
fix: `boltback demo` makes one with demo data, `boltback catalog load` makes one from your lists
"""

from matcher.shop.asking import Asking
from matcher.shop.bulk import Bulk
from matcher.shop.cars import Cars
from matcher.shop.counter import Counter
from matcher.shop.keeping import Keeping
from matcher.shop.lists import Lists
from matcher.shop.papers import Papers
from matcher.shop.pictures import Pictures
from matcher.shop.reasons import Reasons
from matcher.shop.records import Records
from matcher.shop.trying import Trying
from matcher.shop.typed import Typed


class Shop(Records, Papers, Pictures, Asking, Lists, Cars, Reasons, Trying, Counter, Keeping, Bulk, Typed):
    """One store and its settings: everything that can be asked of it, a file for each subject.

    Parameters
    ----------
    path
        The store's file. It is made by the first thing that is loaded into it.
    """
