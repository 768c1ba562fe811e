"""What a check finds takes the place of what nobody knew, and of nothing else."""

from portal.craft.checks import as_found
from portal.craft.parts import Layer, PartKind, PartSet


def test_a_layer_that_was_found_leaves_the_known_ones_alone() -> None:
    one = PartSet(key="A", kind=PartKind.WHEEL, count=4, layers=(Layer.POWDER, Layer.UNKNOWN))
    assert as_found(one, {"layer": "chrome"}).layers == (Layer.POWDER, Layer("chrome"))
