"""Lets a map be worked out in bytes: measures what its values reach on panels and writes that into the file, in place.

    /usr/bin/python3 quantise.py ../model/root-map.onnx pairs.npz      # what pack_rendered.py wrote; numpy, torch, onnx

A value becomes a byte, in steps of its scale (ONNX: quantization_annotation, SCALE_TENSOR); the planes, which may be below
zero, a signed one. What the last layers see stays numbers with a fraction. Weights are rounded by the program when it loads
them; but those of the first layers here, each making up for what rounding the ones before it did: what they look at is much
alike, so that errors would add up.
"""
import sys

import numpy as np
import onnx
import torch
import torch.nn.functional as F
from onnx import helper, numpy_helper

CROPS = 24
HEADROOM = 1.3      # other lamps and cameras reach further than these panels
PLANE_STEP = 1 / 127    # as src/network has it
LEVELS = 127
PATCHES = 200_000


def attributes(node):
    return {a.name: helper.get_attribute_value(a) for a in node.attribute}


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
    """The values held in bytes: what comes out of a ReLU, a sum of such or several joined; but not what the last layers see."""
    made, last = {n.output[0]: n for n in graph.node}, set()
    for node in graph.node:
        if node.op_type == "Sigmoid":
            last.add(made[node.input[0]].input[0])
    summed = {n.output[0] for n in graph.node if n.op_type == "Add" and all(made[i].op_type not in ("Conv", "ConvTranspose") for i in n.input)}
    relus = {n.output[0] for n in graph.node if n.op_type == "Relu"}
    joined = {n.output[0] for n in graph.node if n.op_type == "Concat"}
    return (relus | summed | joined) - last - {o.name for o in graph.output}


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


def patches_of(planes, node):
    """What a convolution looks at, a row each; some of it."""
    a = attributes(node)
    rows = F.unfold(planes, a["kernel_shape"], padding=a["pads"][:2], stride=a["strides"]).transpose(1, 2).flatten(0, 1)
    return rows[torch.randperm(len(rows))[:PATCHES]].double()


def rounded(weight, patches):
    """Weights in whole steps of the largest of each output / LEVELS, one after the other by size; what the rounding of one
    changes, the ones after it make up for as far as the patches allow (least squares)."""
    flat = weight.flatten(1).double()
    square = patches.T @ patches / len(patches)
    square += 1e-4 * square.diagonal().mean() * torch.eye(len(square), dtype=square.dtype)
    made = torch.zeros_like(flat)
    for out, w in enumerate(flat):
        order = w.abs().argsort(descending=True)
        w, step = w[order].clone(), w.abs().max() / LEVELS
        if step == 0:
            continue
        # Rows of this triangle: how the later weights follow when an earlier one is off.
        follow = torch.linalg.cholesky(torch.linalg.inv(square[order][:, order]), upper=True)
        for i in range(len(w)):
            whole = (w[i] / step).round().clamp(-LEVELS, LEVELS) * step
            w[i + 1:] -= (w[i] - whole) / follow[i, i] * follow[i, i + 1:]
            made[out, order[i]] = whole
    steps = flat.abs().amax(1, keepdim=True).clamp(min=1e-12) / LEVELS
    off = [(patches @ (w - flat).T).std() for w in ((flat / steps).round() * steps, made)]
    print(f"first layer of {len(flat)}: off by {off[0]:.4f} as rounded one by one, {off[1]:.4f} now")
    return made.float().reshape(weight.shape)


def note(graph, name, **tensors):
    told = graph.quantization_annotation.add(tensor_name=name)
    for key, value in tensors.items():
        graph.initializer.append(numpy_helper.from_array(value, f"{name}.{key}"))
        told.quant_parameter_tensor_names.add(key=f"{key.upper()}_TENSOR", value=f"{name}.{key}")


def main(path, pairs):
    from model import shown_planes
    from rendered import Rendered
    torch.manual_seed(1)
    shown = Rendered(pairs, "cpu").show(CROPS, 384)[0]
    planes = shown_planes(shown)
    planes = (planes / PLANE_STEP).round().clamp(-127, 127) * PLANE_STEP
    model = onnx.load(path)
    graph = model.graph
    given = graph.input[0].name
    noted = {t.value for q in graph.quantization_annotation for t in q.quant_parameter_tensor_names}
    for tensor in [i for i in graph.initializer if i.name in noted]:
        graph.initializer.remove(tensor)
    del graph.quantization_annotation[:]
    tensors = {i.name: i for i in graph.initializer}
    for node in graph.node:
        if node.op_type == "Conv" and node.input[0] == given:
            weight = torch.from_numpy(numpy_helper.to_array(tensors[node.input[1]]).copy())
            weight = rounded(weight, patches_of(planes, node))
            tensors[node.input[1]].CopyFrom(numpy_helper.from_array(weight.numpy(), node.input[1]))
    held = {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}
    held.update({n.output[0]: torch.from_numpy(numpy_helper.to_array(n.attribute[0].t).copy()) for n in graph.node if n.op_type == "Constant"})
    with torch.no_grad():
        scales = scales_of(graph, held, planes)
    print(len(scales), "values in bytes")
    note(graph, given, scale=np.array(PLANE_STEP, np.float32), zero_point=np.array(0, np.int8))
    for name, scale in sorted(scales.items()):
        note(graph, name, scale=np.array(scale, np.float32))
    onnx.save(model, path)


if __name__ == "__main__":
    main(*sys.argv[1:])
