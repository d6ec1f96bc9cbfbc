"""Who and what the job book's tests are about. Everybody and everything is invented."""

from datetime import UTC, datetime

from pegwood.book.arriving import CameraDetails, OwnerDetails

BY = "bench"
MONDAY = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)

ILSE = OwnerDetails(name="Ilse Marrick", phone="0555-0132", email="ilse@example.org")
BENNO = OwnerDetails(name="Benno Tjaard", phone="0555-0177")
FOLDER = CameraDetails(
    family="folding-roll-front-cell", maker="Vorrin", model="Pocket Six", serial="A-20417", year_made=1952
)
REFLEX = CameraDetails(family="reflex-35-cloth", maker="Aldermoor", model="R2", serial="77310")
