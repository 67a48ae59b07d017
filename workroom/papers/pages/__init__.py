"""Paper at true size: pages of a home printer, and one large sheet."""
