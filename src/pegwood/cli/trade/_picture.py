"""A photograph from a file as brightness."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pegwood.cli._open import OneLine

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MAX_PIXELS = 60_000_000


def brightness_of(path: Path) -> NDArray[np.float64]:
    """A photograph's brightness as light, from 0 to 1, upright."""
    import numpy as np
    from PIL import Image, ImageOps, UnidentifiedImageError

    from pegwood.trade.threads.picture.light import light_of

    try:
        with Image.open(path) as opened:
            if opened.width * opened.height > MAX_PIXELS:
                raise OneLine(
                    f"{path.name} has too many pixels. Cut out the screw with a little ground around it."
                )
            grey = ImageOps.exif_transpose(opened).convert("L")
    except UnidentifiedImageError:
        raise OneLine(f"{path.name} is no photograph that can be read. Give a JPEG or a PNG.") from None
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise OneLine(f"{path.name} cannot be read: {error}") from error
    return light_of(np.asarray(grey))
