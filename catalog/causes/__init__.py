"""Why a fault happened: knowledge as data, facts, inference, the next trial."""
