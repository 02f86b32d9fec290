"""Lets a map be worked out in bytes: rounds its values and weights and writes how into the file, in place.

    /usr/bin/python3 quantise.py ../model/root-map.onnx pairs.npz      # what pack_rendered.py wrote; numpy, torch, onnx

A value becomes a byte, in steps of what it reaches on panels; the planes, which may be below zero, a signed one. What
water's last layer sees stays numbers with a fraction. Weights become whole numbers up to LEVELS, each making up for what
rounding the ones before it did: what they look at is much alike, so that errors would add up. Steps are told as ONNX has it:
quantization_annotation, SCALE_TENSOR, one for a value and one for each output of a weight.
"""
import random
import sys

import numpy as np
import onnx
import torch
import torch.nn.functional as F
from onnx import helper, numpy_helper

CROPS = 48
HEADROOM = 1.3      # other cameras reach further than these panels
PLANE_STEP = 1 / 127    # as src/network has it
LEVELS = 63         # where a processor adds two products of a byte and a weight in sixteen bits, more would overflow
PATCHES = 2000      # of a crop


def attributes(node):
    return {a.name: helper.get_attribute_value(a) for a in node.attribute}


def constants(graph):
    """The file's tensors by name."""
    held = {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}
    held.update({n.output[0]: torch.from_numpy(numpy_helper.to_array(n.attribute[0].t).copy()) for n in graph.node if n.op_type == "Constant"})
    return held


def work_out(node, ins, held):
    """One node's value, from tensors and constants."""
    a, op = attributes(node), node.op_type
    if op == "Conv":
        return F.conv2d(ins[0], *ins[1:], stride=a["strides"], padding=a["pads"][:2])
    if op == "ConvTranspose":
        return F.conv_transpose2d(ins[0], *ins[1:], stride=a["strides"])
    if op == "Relu":
        return F.relu(ins[0])
    if op == "Add":
        return ins[0] + ins[1]
    if op == "Concat":
        return torch.cat(ins, 1)
    if op == "Resize":
        return F.interpolate(ins[0], scale_factor=2.0, mode="bilinear", align_corners=False)
    if op == "Pad":
        left = int(held[node.input[1]][3])
        return F.pad(ins[0], (left, left))
    if op == "AveragePool":
        return F.avg_pool2d(ins[0], a["kernel_shape"], a["strides"])
    return torch.sigmoid(ins[0])


def together(graph, bytes_of):
    """For each value held in bytes the name of the set that has to share a scale: what is summed or joined as bytes."""
    made = {n.output[0]: n for n in graph.node}
    leader = {}

    def find(name):
        while leader.setdefault(name, name) != name:
            name = leader[name]
        return name

    def whose(name):      # doubling, widening and means keep the scale
        while made[name].op_type in ("Resize", "Pad", "AveragePool"):
            name = made[name].input[0]
        return name
    for node in graph.node:
        if node.op_type == "Concat" or (node.op_type == "Add" and node.output[0] in bytes_of):
            for name in (*node.input, node.output[0]):
                leader[find(whose(name))] = find(node.output[0])
    return find


def in_bytes(graph):
    """The values held in bytes: what comes out of a ReLU, a sum of such or several joined; but not what water's last layer sees,
    which is small. What that of the roots sees is asked for as well, and large."""
    made, last = {n.output[0]: n for n in graph.node}, set()
    for node in graph.node:
        if node.op_type == "Sigmoid":
            last.add(made[node.input[0]].input[0])
    summed = {n.output[0] for n in graph.node if n.op_type == "Add" and all(made[i].op_type not in ("Conv", "ConvTranspose") for i in n.input)}
    relus = {n.output[0] for n in graph.node if n.op_type == "Relu"}
    joined = {n.output[0] for n in graph.node if n.op_type == "Concat"}
    return (relus | summed | joined) - (last - {o.name for o in graph.output})


def channels_together(graph):
    """For each value the name of the set whose channels go together: what is summed, resized or cut off at zero."""
    leader = {}

    def find(name):
        while leader.setdefault(name, name) != name:
            name = leader[name]
        return name
    for node in graph.node:
        if node.op_type in ("Relu", "Add", "Resize", "Pad", "AveragePool"):
            for name in node.input[:2 if node.op_type == "Add" else 1]:
                leader[find(name)] = find(node.output[0])
    return find


def even_out_channels(graph, held, planes):
    """Scales each channel so that it reaches as far as the others that share its steps, and the weights that take it back: what
    comes out is the same. A channel that reaches little would have few steps for all it says."""
    find, bytes_of, values, reached = channels_together(graph), in_bytes(graph), {graph.input[0].name: planes}, {}
    for node in graph.node:
        if node.op_type == "Constant":
            continue
        out = node.output[0]
        values[out] = work_out(node, [values.get(i, held.get(i)) for i in node.input], held)
        if out in bytes_of and node.op_type != "Concat":
            most = values[out].amax((0, 2, 3))
            reached[find(out)] = torch.maximum(reached.get(find(out), most), most)
    for node in graph.node:      # of a set that is seen as numbers somewhere nothing is changed
        if node.op_type == "Sigmoid" or node.output[0] in {o.name for o in graph.output}:
            reached.pop(find(node.output[0]), None)
    share = {name: (most / most.max().clamp(min=1e-6)).clamp(min=0.02) for name, most in reached.items()}
    of_channels = {name: share.get(find(name), torch.ones(v.shape[1])) for name, v in values.items()}
    tensors = {i.name: i for i in graph.initializer}
    for node in graph.node:
        if node.op_type == "Concat":
            of_channels[node.output[0]] = torch.cat([of_channels[i] for i in node.input])
        if node.op_type not in ("Conv", "ConvTranspose"):
            continue
        takes, gives = of_channels[node.input[0]], of_channels[node.output[0]]
        turned = node.op_type == "ConvTranspose"
        shaped = (takes[:, None] / gives if turned else takes / gives[:, None])[..., None, None]
        for name, factor in ((node.input[1], shaped), (node.input[2], 1 / gives)):
            held[name] = held[name] * factor
            tensors[name].CopyFrom(numpy_helper.from_array(held[name].numpy(), name))


def scales_of(graph, held, planes):
    """For each value in bytes its scale."""
    bytes_of = in_bytes(graph)
    find, reached, values = together(graph, bytes_of), {}, {graph.input[0].name: planes}
    for node in graph.node:
        if node.op_type == "Constant":
            continue
        values[node.output[0]] = v = work_out(node, [values.get(i, held.get(i)) for i in node.input], held)
        if node.output[0] in bytes_of:
            reached[find(node.output[0])] = max(reached.get(find(node.output[0]), 0.0), v.max().item())
    return {name: max(HEADROOM * reached[find(name)], 1e-6) / 255 for name in bytes_of}


def under_lamps(pairs):
    """Half of the pairs as under lamps that lack some colour, as bright as they were: what making up for rounding leans on in
    daylight, that blue, green and red are much alike, does not hold there."""
    lit = pairs.clone()
    for pair in lit[::2]:
        gain = 0.05 ** (torch.rand(3) / 2.2)
        for shown in (pair[:3], pair[3:]):
            before = shown.mean()
            shown *= gain[:, None, None]
            shown *= before / shown.mean().clamp(min=1e-6)
    return lit.clamp(0, 1)


def patches_of(value, node):
    """What a convolution looks at, a row each; some of it. One turned round looks at single pixels."""
    a = attributes(node)
    size, pad, step = (a["kernel_shape"], a["pads"][:2], a["strides"]) if node.op_type == "Conv" else (1, 0, 1)
    some = []
    for crop in value:
        rows = F.unfold(crop[None], size, padding=pad, stride=step)[0].T
        some.append(rows[torch.randperm(len(rows))[:PATCHES]])
    return torch.cat(some)


def rounded(flat, step, patches):
    """Weights, a row for each output, in whole steps; what the rounding of one changes, the ones after it make up for as far as
    the patches allow (least squares)."""
    square = (patches.T @ patches / len(patches)).double()
    square += 1e-3 * square.diagonal().mean() * torch.eye(len(square), dtype=square.dtype)
    order = square.diagonal().argsort(descending=True)      # those that matter most, first
    # Rows of this triangle: how the later weights follow when an earlier one is off.
    follow = torch.linalg.cholesky(torch.linalg.inv(square[order][:, order]), upper=True)
    rest, made, one = flat[:, order].double(), torch.zeros_like(flat, dtype=torch.double), step[:, 0].double()
    for i in range(len(order)):
        made[:, order[i]] = whole = (rest[:, i] / one).round().clamp(-LEVELS, LEVELS) * one
        rest[:, i + 1:] -= ((rest[:, i] - whole) / follow[i, i])[:, None] * follow[i, i + 1:]
    return made.float()


def rounded_weight(weight, node, value):
    """@return  the weight in whole steps, and the step of each output."""
    turned = node.op_type == "ConvTranspose"
    # One turned round: in x out x k x k; each of its k x k places is an output of its own to round for, with the output's step.
    flat = weight.permute(1, 2, 3, 0).flatten(0, 2) if turned else weight.flatten(1)
    outputs = weight.shape[1] if turned else weight.shape[0]
    step = (flat.reshape(outputs, -1).abs().amax(1) / LEVELS).clamp(min=1e-12)
    each = step.repeat_interleave(len(flat) // outputs)[:, None]
    patches = patches_of(value, node)
    made = rounded(flat, each, patches)
    off = [((w - flat) @ patches.T).std() for w in ((flat / each).round() * each, made)]
    print(f"{node.output[0]}: off by {off[0]:.4f} as rounded one by one, {off[1]:.4f} now")
    if turned:
        return made.reshape(weight.shape[1:] + weight.shape[:1]).permute(3, 0, 1, 2).contiguous(), step
    return made.reshape(weight.shape), step


def round_weights(graph, held, planes, scales, planes_in_bytes):
    """One layer after the other, each looking at what the rounded ones before it make; not what looks at numbers. @return  the
    steps of each weight."""
    tensors, steps = {i.name: i for i in graph.initializer}, {}
    values, as_bytes = {graph.input[0].name: planes}, {graph.input[0].name} if planes_in_bytes else set()
    for node in graph.node:
        if node.op_type == "Constant":
            continue
        given, out = node.input[0], node.output[0]
        if node.op_type in ("Conv", "ConvTranspose") and given in as_bytes:
            name = node.input[1]
            held[name], steps[name] = rounded_weight(held[name], node, values[given])
            tensors[name].CopyFrom(numpy_helper.from_array(held[name].numpy(), name))
        values[out] = work_out(node, [values.get(i, held.get(i)) for i in node.input], held)
        if out in scales:
            values[out] = (values[out] / scales[out]).round().clamp(0, 255) * scales[out]
            as_bytes.add(out)
        elif node.op_type in ("Resize", "Pad", "AveragePool") and given in as_bytes:
            as_bytes.add(out)
    return steps


def note(graph, name, **tensors):
    told = graph.quantization_annotation.add(tensor_name=name)
    for key, value in tensors.items():
        graph.initializer.append(numpy_helper.from_array(value, f"{name}.{key}"))
        told.quant_parameter_tensor_names.add(key=f"{key.upper()}_TENSOR", value=f"{name}.{key}")


def quantise(path, planes, plane_step=None):
    """Rounds the map in a file, in place, to what it reaches on planes; they become bytes too where a step is given."""
    if plane_step:
        planes = (planes / plane_step).round().clamp(-127, 127) * plane_step
    model = onnx.load(path)
    graph = model.graph
    noted = {t.value for q in graph.quantization_annotation for t in q.quant_parameter_tensor_names}
    for tensor in [i for i in graph.initializer if i.name in noted]:
        graph.initializer.remove(tensor)
    del graph.quantization_annotation[:]
    held = constants(graph)
    with torch.no_grad():
        even_out_channels(graph, held, planes)
        scales = scales_of(graph, held, planes)
        steps = round_weights(graph, held, planes, scales, bool(plane_step))
    print(len(scales), "values in bytes")
    if plane_step:
        note(graph, graph.input[0].name, scale=np.array(plane_step, np.float32), zero_point=np.array(0, np.int8))
    for name, scale in sorted(scales.items()):
        note(graph, name, scale=np.array(scale, np.float32))
    for name, step in steps.items():
        note(graph, name, scale=step.numpy())
    onnx.save(model, path)


def main(path, pairs):
    from model import shown_planes
    from rendered import Rendered
    torch.manual_seed(1)
    random.seed(1)
    quantise(path, shown_planes(under_lamps(Rendered(pairs, "cpu").show(CROPS, 384)[0])), PLANE_STEP)


if __name__ == "__main__":
    main(*sys.argv[1:])
