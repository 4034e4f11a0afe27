"""What all tests share: property tests are not timed, for the machine may be busy with others.

Where CI is set in the environment they draw the same examples every time, so that a change is not blamed for
what an older one broke. `--hypothesis-profile=deep` looks twenty times longer.
"""

import os

from hypothesis import settings

settings.register_profile("sawbuck", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.register_profile("deep", deadline=None, max_examples=2_000)
settings.load_profile("ci" if os.environ.get("CI") else "sawbuck")
