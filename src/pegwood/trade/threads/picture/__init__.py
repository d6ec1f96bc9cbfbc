"""Reading a screw's size out of its picture; needs the extra `pictures`."""

from pegwood.trade.threads.picture.outline import ADD_IT, UnclearPicture, can_read_pictures
from pegwood.trade.threads.picture.reading import U_SCALE_SHARE, ScrewPicture, read_screw

__all__ = ["ADD_IT", "U_SCALE_SHARE", "ScrewPicture", "UnclearPicture", "can_read_pictures", "read_screw"]
