"""The order of making of an order: a walk over its seams, darts and edges, in its own numbers."""

from garment.making.walk import Making, Step, order_of_making

__all__ = ["Making", "Step", "order_of_making"]
