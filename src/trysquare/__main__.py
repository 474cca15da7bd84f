"""python -m trysquare"""

import sys

from .cli.main import main

sys.exit(main())
