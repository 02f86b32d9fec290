"""Part of the way from an older map to the mean of newer ones, roots and water both at work.

    /usr/bin/python3 blend.py SHARE old.npz new.npz [new.npz ...] blend.npz

SHARE is that of the new ones. Weights of maps that were taught on from one another mix well once each convolution has its
normalisation worked in; parts that only the new ones have are taken from them whole. The shared layers then say other things
than the water's own layers learnt to read, so the two of those that look at them are fitted anew: by least squares, to say what
the last of the new maps says there. The roots' answers stay as they are.
"""
import sys

import numpy as np
import torch
import torch.nn as nn

from model import RootMap, load
from restore import invented, normalise

READ_BY_WATER = (("flat", "dec3"), ("beside", "dec2"))      # the water's layer, and the one it looks at


def folded(path):
    """Weights by name, normalisation worked into the convolutions before it."""
    with np.load(path) as saved:
        held = {k: torch.from_numpy(saved[k]) for k in saved.files}
    for norm in [k[:-len(".running_mean")] for k in held if k.endswith(".running_mean")]:
        conv = norm[:-1] + "0"
        gain = held[norm + ".weight"] / torch.sqrt(held[norm + ".running_var"] + nn.BatchNorm2d(1).eps)
        turned = "up0" in conv      # a transposed convolution has its outputs second
        held[conv + ".weight"] = held[conv + ".weight"] * (gain.view(1, -1, 1, 1) if turned else gain.view(-1, 1, 1, 1))
        held[norm + ".bias"] = held[norm + ".bias"] - held[norm + ".running_mean"] * gain
        held[norm + ".weight"], held[norm + ".running_mean"] = torch.ones_like(gain), torch.zeros_like(gain)
        held[norm + ".running_var"] = torch.full_like(gain, 1 - nn.BatchNorm2d(1).eps)
    return held


def mixed(share, old, news):
    """`share` of the mean of `news`, the rest of `old`, where old has that part."""
    out = {}
    for name, value in news[-1].items():
        if value.is_floating_point():
            value = sum(n[name] for n in news) / len(news)
            if name in old:
                value = value * share
                part = value[:, :old[name].shape[1]] if value.dim() == 4 else value      # of inputs, old may have fewer
                part += (1 - share) * old[name]
        out[name] = value
    return out


def heard(net, layers, panels):
    """What these layers of the net give out: for each a list, one entry for each batch of panels."""
    given = {name: [] for name in layers}
    hooks = [getattr(net, name).register_forward_hook(lambda _, __, y, name=name: given[name].append(y)) for name in layers]
    with torch.no_grad():
        for panel in panels:
            net(panel)
    for hook in hooks:
        hook.remove()
    return given


def refit(net, teacher, panels):
    """Makes the water's layers read the net's features as the teacher's read the teacher's own."""
    sources = [source for _, source in READ_BY_WATER]
    seen, taught = heard(net, sources, panels), heard(teacher, sources, panels)
    for name, source in READ_BY_WATER:
        learnt = getattr(net, name)[0]
        normal, product = 0.0, 0.0
        for x, y in zip(seen[source], taught[source]):
            y = getattr(teacher, name)[:2](y)
            x = torch.cat((x, torch.ones_like(x[:, :1])), 1).transpose(0, 1).flatten(1).double()
            y = y.transpose(0, 1).flatten(1).double()
            normal, product = normal + x @ x.T, product + x @ y.T
        normal += 1e-6 * normal[-1, -1] * torch.eye(len(normal), dtype=normal.dtype)
        weights = torch.linalg.solve(normal, product).float()
        learnt.weight.data = weights[:-1].T[:, :, None, None].contiguous()
        norm = getattr(net, name)[1]
        norm.weight.data = torch.ones_like(norm.weight)
        norm.running_mean, norm.running_var = torch.zeros_like(norm.bias), torch.full_like(norm.bias, 1 - norm.eps)
        norm.bias.data = weights[-1].contiguous()
    for name in ("rows", "level", "water"):
        getattr(net, name).load_state_dict(getattr(teacher, name).state_dict())


def main(share, old, *paths):
    news = [folded(p) for p in paths[:-1]]
    net = load(RootMap(), mixed(float(share), folded(old), news)).eval().requires_grad_(False)
    teacher = load(RootMap(), news[-1]).eval().requires_grad_(False)
    panels = invented()
    panels += [torch.cat((p[:, :3], torch.zeros_like(p[:, 3:])), 1) for p in panels[:1]]      # some without a reference panel
    refit(net, teacher, panels)
    normalise(net, panels)
    np.savez(paths[-1], **{k: v.numpy() for k, v in net.state_dict().items()})


if __name__ == "__main__":
    main(*sys.argv[1:])
