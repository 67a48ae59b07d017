"""The bodice lengthened below the waist."""
