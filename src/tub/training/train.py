"""Train the tub map on invented photos, made while it learns.

    python3 train.py --minutes 9 --out OUT [--from OUT/weights.npz]
    torchrun --nproc_per_node=2 train.py ...

Writes OUT/weights.npz (the averaged weights), OUT/validation.json and OUT/validation.png (photo, truth, answer).
Nothing but this folder and src/roots/training is read: no photo and no rendering of a tub takes part.
"""
import argparse
import copy
import json
import math
import os
import random
import sys
import time

import numpy as np
import torch
import torch.distributed as together
import torch.nn.functional as F
from torch.nn.parallel import DistributedDataParallel

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[0:0] = [HERE, os.path.join(HERE, "../../roots/training")]

from draw import DEVICE, write_png                         # noqa: E402
from media_album import MediaAlbum                         # noqa: E402
from model import OUT, TubMap                              # noqa: E402
from paint import AREAS, LINES, make_photos                # noqa: E402
from rays import SIZE                                      # noqa: E402

VALIDATION_SEED = 20260101


class Photos:
    """Invented photos as bytes: making one takes longer than learning from it."""

    def __init__(self, room):
        self.photos = torch.empty((room, 4, SIZE, SIZE), dtype=torch.uint8, device=DEVICE)
        self.truths = torch.empty((room, OUT, SIZE // 2, SIZE // 2), dtype=torch.uint8, device=DEVICE)
        self.weights = torch.empty((room, 1, SIZE // 2, SIZE // 2), dtype=torch.uint8, device=DEVICE)
        self.room, self.count, self.next = room, 0, 0

    def add(self, photos, truths, weights):
        for v, kept in ((photos, self.photos), (truths, self.truths), (weights, self.weights)):
            v = (v * 255).round().byte()
            for i in range(len(v)):
                kept[(self.next + i) % self.room] = v[i]
        self.next += len(photos)
        self.count = min(self.next, self.room)

    def show(self, batch):
        """A random batch, half of it mirrored."""
        pick = torch.randint(self.count, (batch,), device=DEVICE)
        photos, truths, weights = (v[pick].float() / 255 for v in (self.photos, self.truths, self.weights))
        over = torch.rand(batch, 1, 1, 1, device=DEVICE) < 0.5
        other = truths.flip(3)
        left, right = len(AREAS), len(AREAS) + 1
        other = torch.cat((other[:, :left], other[:, right:right + 1], other[:, left:left + 1], other[:, right + 1:]), 1)
        photos, weights = (torch.where(over, v.flip(3), v) for v in (photos, weights))
        return photos, torch.where(over, other, truths), weights


def made(batch, album):
    """Photos, and truth and weight at half their size."""
    with torch.no_grad():
        photos, truths, weights = make_photos(batch, album)
        return photos, F.avg_pool2d(truths, 2), (F.avg_pool2d(weights, 2) > 0.99).float()


def loss_of(logits, truth, weight):
    """Cross entropy; areas: and one minus Dice; lines: pixels near a line count more."""
    z = logits.float()
    areas = len(AREAS)
    bce = F.binary_cross_entropy_with_logits(z, truth, reduction="none") * weight
    p = torch.sigmoid(z[:, :areas]) * weight
    t = truth[:, :areas]
    dice = 1 - (2 * (p * t).sum((2, 3)) + 30) / (p.sum((2, 3)) + (t * weight).sum((2, 3)) + 30)
    near = 1 + 12 * truth[:, areas:]
    return bce[:, :areas].mean() * 2 + 0.3 * dice.mean() + (bce[:, areas:] * near).mean() * 2


def validation_photos(batches, batch, album):
    torch.manual_seed(VALIDATION_SEED)
    return [tuple(v.half() for v in made(batch, album)) for _ in range(batches)]


def validate(net, sets):
    """Dice of areas; how far the answer's line is from the true one, along columns or rows, in px of the half-size map."""
    net.eval()
    inter, sums = torch.zeros(len(AREAS)), torch.zeros(len(AREAS))
    offs = {name: [] for name in LINES}
    for photos, truth, weight in sets:
        with torch.no_grad():
            p = net(photos.float()) * weight.float()
        truth = truth.float() * weight.float()
        a = len(AREAS)
        inter += (p[:, :a] * truth[:, :a]).sum((0, 2, 3)).cpu()
        sums += (p[:, :a] + truth[:, :a]).sum((0, 2, 3)).cpu()
        for i, name in enumerate(LINES):
            dim = 3 if name in ("left", "right") else 2
            place = torch.arange(p.shape[dim], device=p.device, dtype=torch.float32).view([-1 if d == dim else 1 for d in range(3 + 1)])[0]
            t, q = truth[:, a + i], p[:, a + i] ** 2
            peak = t.amax(dim - 1)
            at = (t ** 2 * place).sum(dim - 1) / (t ** 2).sum(dim - 1).clamp(min=1e-6)
            said = (q * place).sum(dim - 1) / q.sum(dim - 1).clamp(min=1e-6)
            offs[name] += (said - at).abs()[peak > 0.6].tolist()
    net.train()
    return {"dice": {n: round(float(2 * i / s), 4) for n, i, s in zip(AREAS, inter, sums)},
            "off_px": {n: [round(float(np.quantile(v, q)), 3) for q in (0.5, 0.9, 0.97)] for n, v in offs.items() if v}}


def sheet(net, sets, path, rows=16):
    net.eval()
    photos, truth = (v.float()[:rows] for v in sets[0][:2])
    with torch.no_grad():
        p = net(photos)
    small = F.avg_pool2d(photos[:, :3].flip(1), 2)
    def drawn(m):
        lines = torch.stack((m[:, 3:5].amax(1), m[:, 5:7].amax(1), m[:, 7]), 1)
        return (small * 0.3 + 0.35 * m[:, :3] + lines).clamp(0, 1)
    cells = torch.cat((small, drawn(truth), drawn(p)), 3)
    half = len(cells) // 2
    tall = torch.cat((torch.cat(list(cells[:half]), 1), torch.cat(list(cells[half:2 * half]), 1)), 2)
    write_png(path, (tall.permute(1, 2, 0).cpu().numpy() * 255).round().astype(np.uint8))


class Logits(torch.nn.Module):
    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        return self.net.logits(x)


def learn(args, rank, cards):
    begun = time.time()
    torch.manual_seed(args.seed * 100 + rank)
    random.seed(args.seed * 100 + rank)
    net = TubMap()
    if args.start:
        with np.load(args.start) as saved:
            net.load_state_dict({k: torch.from_numpy(saved[k]) for k in saved.files})
    net = net.to(DEVICE).to(memory_format=torch.channels_last)
    mean = copy.deepcopy(net)
    shared = Logits(net)
    if cards > 1:
        shared = DistributedDataParallel(shared, device_ids=[rank] if DEVICE == "cuda" else None)
    averaged, learnt = ([v for v in n.state_dict().values() if v.is_floating_point()] for n in (mean, net))
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-3)
    net.train()
    album = MediaAlbum(args.media, min(16, args.media))
    photos, step, shown, running, spent = Photos(args.album), 0, begun, 0.0, [0.0, 0.0]
    print(f"{time.time() - begun:.0f} s  media drawn", flush=True)
    while True:
        done = torch.tensor([(time.time() - begun) / (args.minutes * 60)], device=DEVICE)
        if cards > 1:
            together.broadcast(done, 0)
        done = done.item()
        if done >= 1:
            break
        t0 = time.time()
        if step % args.shows == 0 or step < 12:
            photos.add(*made(args.draw, album))
        if step and step % 400 == 0:                       # other media now and then
            fresh = MediaAlbum(max(4, args.media // 12), min(16, args.media))
            at = torch.randperm(len(album.pictures), device=DEVICE)[:len(fresh.pictures)]
            album.pictures[at] = fresh.pictures[:len(at)]
        if DEVICE == "cuda" and step % 50 == 0:
            torch.cuda.synchronize()
        t1 = time.time()
        x, truth, weight = photos.show(args.batch)
        rate = args.rate * min(1, (step + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-5
        for group in optimiser.param_groups:
            group["lr"] = rate
        with torch.autocast(DEVICE, dtype=torch.bfloat16, enabled=DEVICE == "cuda"):
            logits = shared(x.contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits, truth, weight)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        size = torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        if torch.isfinite(size):
            optimiser.step()
        keep = min(0.999, (step + 1) / (step + 20))
        with torch.no_grad():
            torch._foreach_mul_(averaged, keep)
            torch._foreach_add_(averaged, learnt, alpha=1 - keep)
        if step % 50 == 0:
            running = loss.item()
            spent = [t1 - t0, time.time() - t1]
        step += 1
        if rank == 0 and time.time() - shown > 30:
            shown = time.time()
            print(f"{time.time() - begun:5.0f} s  step {step}  loss {running:.4f}  draw {spent[0] * 1000:.0f} ms  learn {spent[1] * 1000:.0f} ms", flush=True)
            save(mean, args.out)
    return mean, step, album


def save(net, out):
    np.savez(os.path.join(out, "weights.npz"), **{k: v.detach().float().cpu().numpy() if v.is_floating_point() else v.cpu().numpy()
                                                  for k, v in net.state_dict().items()})


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--minutes", type=float, default=9)
    ap.add_argument("--out", required=True)
    ap.add_argument("--from", dest="start")
    ap.add_argument("--batch", type=int, default=48, help="photos a step, on each card")
    ap.add_argument("--draw", type=int, default=32, help="photos drawn at a time")
    ap.add_argument("--shows", type=int, default=3, help="steps from one drawing to the next")
    ap.add_argument("--media", type=int, default=384)
    ap.add_argument("--album", type=int, default=6144)
    ap.add_argument("--rate", type=float, default=3e-3)
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--validation-batches", type=int, default=8)
    args = ap.parse_args()
    os.makedirs(args.out, exist_ok=True)
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    rank, cards = int(os.environ.get("LOCAL_RANK", 0)), int(os.environ.get("WORLD_SIZE", 1))
    if cards > 1:
        together.init_process_group("nccl" if DEVICE == "cuda" else "gloo")
    mean, step, album = learn(args, rank, cards)
    if cards > 1:
        together.destroy_process_group()
    if rank:
        return
    save(mean, args.out)
    sets = validation_photos(args.validation_batches, args.draw, album)
    report = validate(mean, sets)
    report["steps"] = step
    print(json.dumps(report), flush=True)
    with open(os.path.join(args.out, "validation.json"), "w") as f:
        json.dump(report, f, indent=1)
    sheet(mean, sets, os.path.join(args.out, "validation.png"))


if __name__ == "__main__":
    main()
