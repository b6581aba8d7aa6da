"""Pure optics of a spectacle order: numbers in, numbers out; see each module for its subject."""
