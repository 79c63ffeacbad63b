# The walk-round: words on a phone.
