"""The sizes of a published table drafted as one range, laid in a nest and checked for growth."""
