"""The house's own settings, in a workshop made for this run and thrown away after it."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="pegwood-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["PEGWOOD_WORKSHOP"] = _folder

from pegwood.frame.settings import *  # noqa: E402, F403

# Fast, and no safer than it needs to be here.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
