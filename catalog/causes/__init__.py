"""Why a fault came about: knowledge as data, facts, ranked causes, the next trial."""
