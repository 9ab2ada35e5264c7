"""Room found for things: modules on a floor, cups on a deck, parts on a plate."""
