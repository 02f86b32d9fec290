"""Gives a map a head at half the panel's size, learnt from what the map's own head at the full size answers: alike to Dice 0.98,
for a tenth less time of the whole.

    /usr/bin/python3 half_head.py full.onnx pairs.npz root-map.onnx      # numpy, torch, onnx; half an hour of one core

full.onnx is export.py's, before quantise.py; pairs.npz what pack_rendered.py wrote. All else of the map stays as it is. What
export.py makes looks at every pixel of the panel with 24 channels; here the four pixels under a step share 16, of what the last
layer at half the size sees and of the planes themselves, and only then get weights of their own.
"""
import math
import random
import sys

import numpy as np
import onnx
import torch
import torch.nn as nn
import torch.nn.functional as F
from onnx import helper, numpy_helper

from model import shown_planes
from quantise import PLANE_STEP, constants, under_lamps, work_out
from rendered import Rendered
from train import SIZE, new_scenes, photographed

CHANNELS, FEATURES = 16, 12      # at half the size, and of each pixel under it
RENDERED, SCENES, PHOTOS = 640, 13, 2      # crops; batches of invented scenes, each photographed so often
BATCH = 4
STEPS, CROPS, CROP, RATE = 1800, 6, 192, 1e-2
SEEN, TOLD = "/dec1/Relu_output_0", "/Conv_output_0"      # what the head looks at, and what it says (before the sigmoid)


class Head(nn.Module):
    def __init__(self, inside, planes):
        super().__init__()
        self.pixels = nn.Conv2d(planes, CHANNELS, 4, 2, 1)
        self.edge = nn.Conv2d(inside, CHANNELS, 3, 1, 1)
        self.up0 = nn.ConvTranspose2d(CHANNELS, FEATURES, 2, 2)
        self.out = nn.Conv2d(FEATURES, 2, 1)
        nn.init.constant_(self.out.bias, -3.0)

    def forward(self, seen, planes):
        # both parts 0 or more, so that bytes hold them
        return self.out(F.relu(self.up0(F.relu(F.relu(self.pixels(planes)) + self.edge(seen)))))


def behind(graph, names):
    """The nodes that these values need, in order."""
    needed, nodes = set(names), []
    for node in reversed(graph.node):
        if node.output[0] in needed and node.op_type != "Constant":
            nodes.append(node)
            needed.update(node.input)
    return nodes[::-1]


def varied(pairs):
    """Turned over, and in other light."""
    pairs = torch.where(torch.rand(len(pairs), 1, 1, 1) < 0.5, pairs.flip(3), pairs)
    bend = torch.exp(0.15 * torch.randn(len(pairs), 2, 1, 1)).repeat_interleave(3, 1)
    return (pairs ** bend * (1 + 0.05 * torch.randn(len(pairs), 6, 1, 1))).clamp(0, 1)


def lessons(graph, batches):
    """What the full map sees and says of batches of pairs: its last layer at half the size, planes, logits."""
    held, nodes, kept = constants(graph), behind(graph, (SEEN, TOLD)), []
    for k, pairs in enumerate(batches):
        pairs = varied(pairs)
        planes = shown_planes(under_lamps(pairs) if k % 3 == 0 else pairs)
        planes = (planes / PLANE_STEP).round().clamp(-127, 127)
        values = {graph.input[0].name: planes * PLANE_STEP}
        for node in nodes:
            values[node.output[0]] = work_out(node, [values.get(i, held.get(i)) for i in node.input], held)
        kept.append((values[SEEN].half(), planes.to(torch.int8), values[TOLD].half()))
    return [torch.cat(part) for part in zip(*kept)]


def crops_of(lesson, count):
    crops = []
    for _ in range(count):
        i, (y, x) = random.randrange(len(lesson[0])), (2 * random.randint(0, (SIZE - CROP) // 2) for _ in range(2))
        crops.append([part[i, :, y // k:(y + CROP) // k, x // k:(x + CROP) // k].float() for part, k in zip(lesson, (2, 1, 1))])
    seen, planes, said = (torch.stack(part) for part in zip(*crops))
    return seen, planes * PLANE_STEP, torch.sigmoid(said)


def learn(lessons_of):
    """A head that answers as the full map does, and what its answers lack, over the last steps."""
    head, mean = (Head(lessons_of[0][0].shape[1], lessons_of[0][1].shape[1]) for _ in range(2))
    optimiser, lacks = torch.optim.AdamW(head.parameters(), lr=RATE, weight_decay=1e-4), 0.0
    for step in range(STEPS):
        seen, planes, said = crops_of(random.choice(lessons_of), CROPS)
        for group in optimiser.param_groups:
            group["lr"] = RATE * min(1, (step + 1) / 50) * (0.5 + 0.5 * math.cos(math.pi * step / STEPS)) + 1e-5
        optimiser.zero_grad()
        lack = F.binary_cross_entropy_with_logits(head(seen, planes), said) - F.binary_cross_entropy(said, said)
        lack.backward()
        nn.utils.clip_grad_norm_(head.parameters(), 1.0)
        optimiser.step()
        keep = min(0.99, (step + 1) / (step + 10))
        with torch.no_grad():
            for averaged, learnt in zip(mean.parameters(), head.parameters()):
                averaged.mul_(keep).add_(learnt, alpha=1 - keep)
        lacks = 0.98 * lacks + 0.02 * lack.item()
        if step % 200 == 199:
            print(f"step {step + 1}: lacks {lacks:.5f}", flush=True)
    return mean


def put(head, model):
    """The head in place of the full map's own."""
    graph = model.graph
    stays = {n.output[0] for n in behind(graph, (SEEN, "water"))}
    for node in [n for n in graph.node if n.output[0] not in stays and n.op_type != "Constant"]:
        graph.node.remove(node)
    used = {i for n in graph.node for i in n.input}
    for tensor in [i for i in graph.initializer if i.name not in used]:
        graph.initializer.remove(tensor)
    for name, value in head.state_dict().items():
        graph.initializer.append(numpy_helper.from_array(value.numpy(), "head." + name))

    def layer(op, given, name, made, size, stride=1, pad=0):
        return helper.make_node(op, [given, f"head.{name}.weight", f"head.{name}.bias"], [made], kernel_shape=[size] * 2, strides=[stride] * 2,
                                pads=[pad] * 4, dilations=[1, 1], group=1)
    planes = graph.input[0].name
    graph.node.extend([
        layer("Conv", planes, "pixels", "/pixels/Conv_output_0", 4, 2, 1), helper.make_node("Relu", ["/pixels/Conv_output_0"], ["/pixels/Relu_output_0"]),
        layer("Conv", SEEN, "edge", "/edge/Conv_output_0", 3, 1, 1),
        helper.make_node("Add", ["/pixels/Relu_output_0", "/edge/Conv_output_0"], ["/edge/Add_output_0"]),
        helper.make_node("Relu", ["/edge/Add_output_0"], ["/edge/Relu_output_0"]),
        layer("ConvTranspose", "/edge/Relu_output_0", "up0", "/up0/ConvTranspose_output_0", 2, 2),
        helper.make_node("Relu", ["/up0/ConvTranspose_output_0"], ["features"]),
        layer("Conv", "features", "out", TOLD, 1), helper.make_node("Sigmoid", [TOLD], ["roots"])])      # last, as its readers expect
    for out in graph.output:
        if out.name == "features":
            out.type.tensor_type.shape.dim[1].dim_value = FEATURES
    onnx.checker.check_model(model)


def main(full, pairs, out):
    torch.manual_seed(1)
    random.seed(1)
    model, rendered = onnx.load(full), Rendered(pairs, "cpu")

    def invented():
        for _ in range(SCENES):
            scenes = new_scenes(BATCH)
            for _ in range(PHOTOS):
                yield photographed(scenes)[0]
    with torch.no_grad():
        taught = [lessons(model.graph, (rendered.show(BATCH, SIZE)[0] for _ in range(RENDERED // BATCH))), lessons(model.graph, invented())]
    put(learn([taught[0], taught[0], taught[1]]), model)      # two thirds rendered
    onnx.save(model, out)


if __name__ == "__main__":
    main(*sys.argv[1:])
