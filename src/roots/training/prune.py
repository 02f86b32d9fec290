"""A smaller network out of the teacher: of each set of channels that have to stay together those that matter most.

What matters: how much the loss would change without a channel, by its gradient times its answer, summed over pictures. Only
the last layers for roots start anew: the teacher works them out at the panel's own size, which costs most of its time.
"""
import torch

from model import LAST, RootMap

# Layers of the teacher whose channels are summed with each other, so that the same ones have to stay; the first names the set.
TOGETHER = {
    "first": ["down1"],
    "a": ["enc1", "up1", "dec1.second"],
    "b": ["down2", "enc2.second", "up2", "dec2.second"],
    "c": ["down3", "enc3.second", "up3", "dec3.second"],
    "d": ["down4", "enc4.0.second", "enc4.1.second", "up4"],
    "enc2": ["enc2.first"], "enc3": ["enc3.first"], "enc4.0": ["enc4.0.first"], "enc4.1": ["enc4.1.first"],
    "dec3": ["dec3.first"], "dec2": ["dec2.first"], "dec1": ["dec1.first"],
    "rows": ["rows", "beside"],
}
# Of each layer of the smaller network: the sets of its channels that come in, and go out; None: all.
LAYERS = {
    "down1": (None, "first"), "enc1": ("first", "a"), "down2": ("a", "b"), "down3": ("b", "c"), "down4": ("c", "d"),
    "enc5.0": ("d", None), "enc5.1.first": (None, None), "enc5.1.second": (None, None), "up4": (None, "d"),
    "up3": ("d", "c"), "up2": ("c", "b"), "up1": ("b", "a"), "flat": ("c", None), "beside": ("b", "rows"), "level": ("rows", None),
    **{f"{block}.{part}": (stream, block) if part == "first" else (block, stream)
       for block, stream in (("enc2", "b"), ("enc3", "c"), ("enc4.0", "d"), ("enc4.1", "d"), ("dec3", "c"), ("dec2", "b"), ("dec1", "a"))
       for part in ("first", "second")},
}


def importance(teacher, loss_on, batches):
    """For each set how much each of its channels matters."""
    seen, hooks = {}, []
    for name, layers in TOGETHER.items():
        for layer in layers:
            def keep(_, __, out, name=name):
                out.retain_grad()
                seen.setdefault(name, []).append(out)
            hooks.append(teacher.get_submodule(layer).register_forward_hook(keep))
    total = {}
    for batch in batches:
        seen.clear()
        loss_on(batch).backward()
        for name, outs in seen.items():
            matters = sum((o * o.grad).float().sum((2, 3)).abs().sum(0) for o in outs if o.grad is not None)
            total[name] = total.get(name, 0) + matters
    for hook in hooks:
        hook.remove()
    return total


def channels_of(size):
    a, b, c, d, _ = size.widths
    return {"first": size.first, "a": a, "b": b, "c": c, "d": d, "enc2": size.down[0], "enc3": size.down[1], "enc4.0": size.down[2],
            "enc4.1": size.down[2], "dec3": size.up[0], "dec2": size.up[1], "dec1": size.up[2], "rows": size.rows}


def pruned(teacher, size, matters):
    net = RootMap(size)
    kept = {name: matters[name].topk(min(n, len(matters[name]))).indices.sort().values.cpu() for name, n in channels_of(size).items()}
    of = lambda v, name, dim: v if name is None else v.index_select(dim, kept[name])
    held, own = teacher.state_dict(), net.state_dict()

    def take(to, weight, source, ins, outs, with_bias=True):
        own[to + ".0.weight"] = of(of(weight, outs, 0), ins, 1)
        for part in ("weight", "bias", "running_mean", "running_var"):
            value = of(held[f"{source}.1.{part}"].cpu(), outs, 0)
            own[f"{to}.1.{part}"] = value if with_bias or part != "bias" else torch.zeros_like(value)
    for layer, (ins, outs) in LAYERS.items():
        take(layer, held[layer + ".0.weight"].cpu(), layer, ins, outs)
    for i, weight in enumerate(held["rows.0.weight"].cpu().chunk(3, 1)):      # the teacher laid the three beside each other
        take(f"rows.{i}", weight, "rows", None, "rows", with_bias=i == 0)
    for part in ("weight", "bias"):
        own["water." + part] = held["water." + part]
    net.load_state_dict(own)
    assert LAST == 16
    return net
