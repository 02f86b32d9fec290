"""Lets a map be worked out in bytes: measures what its values reach on panels and writes that into the file, in place.

    /usr/bin/python3 quantise.py ../model/root-map.onnx pairs.npz      # what pack_rendered.py wrote; numpy, torch, onnx

A value becomes a byte, in steps of its scale (ONNX: quantization_annotation, SCALE_TENSOR); weights are rounded by the program
when it loads them. The picture itself and what the last layers see stay numbers with a fraction.
"""
import sys

import numpy as np
import onnx
import torch
import torch.nn.functional as F
from onnx import helper, numpy_helper

CROPS = 24
HEADROOM = 1.3      # other lamps and cameras reach further than these panels


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


def main(path, pairs):
    from model import LocalLight
    from rendered import Rendered
    torch.manual_seed(1)
    shown = Rendered(pairs, "cpu").show(CROPS, 384)[0]
    planes = torch.cat((shown, LocalLight()(shown)), 1)
    model = onnx.load(path)
    graph = model.graph
    held = {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}
    held.update({n.output[0]: torch.from_numpy(numpy_helper.to_array(n.attribute[0].t).copy()) for n in graph.node if n.op_type == "Constant"})
    with torch.no_grad():
        scales = scales_of(graph, held, planes)
    print(len(scales), "values in bytes")
    del graph.quantization_annotation[:]
    for name, scale in sorted(scales.items()):
        graph.initializer.append(numpy_helper.from_array(np.array(scale, np.float32), name + ".scale"))
        note = graph.quantization_annotation.add(tensor_name=name)
        note.quant_parameter_tensor_names.add(key="SCALE_TENSOR", value=name + ".scale")
    onnx.save(model, path)


if __name__ == "__main__":
    main(*sys.argv[1:])
