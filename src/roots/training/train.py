"""Train the root map on invented panels, made while it learns.

    python3 train.py --minutes 9 --out OUT [--from OUT/weights.npz]
    torchrun --nproc_per_node=2 train.py ...                          the same on two cards

Writes OUT/weights.npz (the averaged weights), OUT/validation.json and OUT/validation.png (first, today, truth, answer:
green white root, red browned, blue below water, violet its line).
Nothing but this folder is read, unless --rendered names tubs that pack_rendered.py has packed.
"""
import argparse
import copy
import json
import math
import os
import random
import time

import numpy as np
import torch
import torch.distributed as together
import torch.nn.functional as F
from torch.nn.parallel import DistributedDataParallel

from draw import DEVICE, write_png
from model import RootMap, load
from photograph import make_pair
from rendered import Rendered
from scene import make_scenes

SIZE = 384
POOL = 24          # batches of scenes held; each is photographed anew some times
ALBUM = 4096       # photographed pairs held; each is shown some times, turned over and under another light
VALIDATION_SEED = 20260101
THRESHOLDS = [round(0.2 + 0.05 * i, 2) for i in range(13)]


def new_scenes(batch):
    with torch.no_grad():
        view, first, later, alone = make_scenes(batch, SIZE)
        return view, first.half(), later.half(), alone


def photographed(scenes):
    with torch.no_grad():
        view, first, later, alone = scenes
        return make_pair(view, first.float(), later.float(), alone)


class Album:
    """Photographed pairs as bytes: making one takes far longer than learning from it."""

    def __init__(self, room):
        self.pairs = torch.empty((room, 6, SIZE, SIZE), dtype=torch.uint8, device=DEVICE)
        self.targets = torch.empty((room, 3, SIZE, SIZE), dtype=torch.uint8, device=DEVICE)
        self.water = torch.empty((room, 3, SIZE // 4, SIZE // 4), dtype=torch.uint8, device=DEVICE)
        self.shares = torch.empty((room, 1, 1, SIZE), device=DEVICE)
        self.room, self.count, self.next = room, 0, 0

    def add(self, pair, target, water, share):
        for i in range(len(pair)):
            at = self.next % self.room
            self.pairs[at], self.targets[at], self.shares[at] = (pair[i] * 255).round().byte(), target[i].byte(), share[i]
            self.water[at] = (water[i] * 255).round().byte()
            self.next += 1
        self.count = min(self.next, self.room)

    def show(self, batch, rendered=None, share_rendered=0.0):
        """A random batch, part of it rendered, half of it mirrored, each panel under a slightly other light."""
        others = int(batch * share_rendered) if rendered else 0
        pick = torch.randint(self.count, (batch - others,), device=DEVICE)
        pair, target, share = self.pairs[pick].float() / 255, self.targets[pick].float(), self.shares[pick]
        water = self.water[pick].float() / 255
        if others:
            pair, target, water, share = (torch.cat(v) for v in zip((pair, target, water, share), rendered.show(others, SIZE)))
        over = (torch.rand(batch, 1, 1, 1, device=DEVICE) < 0.5)
        pair, target, water, share = (torch.where(over, v.flip(3), v) for v in (pair, target, water, share))
        for panel in (pair[:, :3], pair[:, 3:]):
            bend = torch.exp(0.15 * torch.randn(batch, 1, 1, 1, device=DEVICE))
            gain = 1 + 0.05 * torch.randn(batch, 3, 1, 1, device=DEVICE)
            panel.copy_((panel.clamp(min=0) ** bend * gain).clamp(0, 1))
        return pair, target, water, share


def loss_of(logits, target, water, share):
    """Of roots cross entropy for every pixel plus one minus Dice over the batch, per channel; browned counts half, lines a
    third. Of water cross entropy where the wall is seen."""
    logits, said = logits
    total = 0.0
    seen = water[:, 2]
    # Films on the base are only a few rows high, and dry bases look like them: rows within 10 mm of where the wall ends count more.
    ends = F.max_pool2d(F.pad(1 - seen, (0, 0, 0, 16)), (17, 1), 1)
    counts = F.avg_pool2d(share, (1, 4))[:, 0] * seen * (1 + 3 * ends)
    for channel, weight in ((0, 0.75), (1, 2.0)):
        total = total + weight * F.binary_cross_entropy_with_logits(said[:, channel].float(), water[:, channel], counts)
    share = share[:, 0].expand(-1, target.shape[2], -1)
    for channel, weight in ((0, 1.0), (1, 0.5), (2, 0.3)):
        z, t = logits[:, channel].float(), target[:, channel]
        told = share * (t < 1.5)      # 2: not known
        t = t.clamp(max=1)
        p = torch.sigmoid(z)
        dice = 1 - (2 * (told * p * t).sum() + 50) / ((told * p).sum() + (told * t).sum() + 50)
        total = total + weight * (3 * F.binary_cross_entropy_with_logits(z, t, told) + 0.5 * dice)
    return total


def validation_pairs(batches, batch):
    state = torch.random.get_rng_state(), (torch.cuda.get_rng_state() if DEVICE == "cuda" else None)
    torch.manual_seed(VALIDATION_SEED)
    pairs = [tuple(t.half() for t in photographed(new_scenes(batch))) for _ in range(batches)]
    torch.random.set_rng_state(state[0])
    if state[1] is not None:
        torch.cuda.set_rng_state(state[1])
    return pairs


def validate(net, pairs):
    """Dice, tolerant F1 (2 px) per threshold, browned Dice, coverage on rootless panels; as given and without first."""
    net.eval()
    report = {}
    for name, blank in (("as_given", False), ("no_first", True)):
        sums = {t: np.zeros(8) for t in THRESHOLDS}
        rootless = {t: [] for t in THRESHOLDS}
        errors = {t: [] for t in THRESHOLDS}
        levels = []
        for pair, target, water, share in pairs:
            pair, target, water, share = pair.float(), target.float(), water.float(), share.float()
            if blank:
                pair = torch.cat((pair[:, :3], torch.zeros_like(pair[:, 3:])), 1)
            with torch.no_grad():
                p, said = net(pair)
            levels += list(zip(level_rows(said, water[:, 2]), level_rows(water[:, :2], water[:, 2])))
            wide = F.max_pool2d(target[:, :1], 5, 1, 2)
            for t in THRESHOLDS:
                m = (p > t).float()
                mw = F.max_pool2d(m[:, :1], 5, 1, 2)
                r, q = m[:, :1], target[:, :1]
                sums[t] += np.array([v.sum().item() for v in (share * r * q, share * r, share * q, share * r * wide, share * q * mw,
                                                           share * m[:, 1:2] * target[:, 1:2], share * m[:, 1:2], share * target[:, 1:2])])
                seen = share.sum((1, 2, 3)) * r.shape[2]
                cover, true = ((share * v).sum((1, 2, 3)) / seen * 100 for v in (r, q))
                errors[t] += (cover - true).abs().tolist()
                rootless[t] += cover[true == 0].tolist()
        rows = {}
        for t in THRESHOLDS:
            s = sums[t]
            precise, recall = s[3] / max(s[1], 1), s[4] / max(s[2], 1)
            rows[t] = {"dice": float(2 * s[0] / max(s[1] + s[2], 1)), "f1_2px": float(2 * precise * recall / max(precise + recall, 1e-9)),
                       "browned_dice": float(2 * s[5] / max(s[6] + s[7], 1)), "rootless_mean_percent": float(np.mean(rootless[t])),
                       "rootless_worst_percent": float(np.max(rootless[t])), "coverage_error_median_points": float(np.median(errors[t]))}
        rows["water"] = told_levels(levels)
        report[name] = rows
    net.train()
    return report


MM_PER_CELL = 0.6


def level_rows(said, counted):
    """Cells from a panel's lower edge up to the level, the cells of seen wall below it, and whether it is in sight; by cross
    entropy of the rows above and below. said (B,2,h,w), counted (B,h,w)."""
    found = []
    odds = torch.logit(said[:, 0].clamp(0.02, 0.98)) * counted
    on_line = (torch.logit(said[:, 1].clamp(0.02, 0.9)) + 1.5).clamp(min=0) * counted
    for below, line, seen, p in zip(odds, on_line, counted, said[:, 0]):
        width = seen.sum(1).max().clamp(min=1)
        gain = torch.cat((below.sum(1).flip(0).cumsum(0).flip(0), torch.zeros(1, device=below.device))) / width
        gain[:-1] += line.sum(1) / width
        row = int(gain.argmax())
        if gain[row] < 2:
            found.append(None)
            continue
        lo, hi = max(row - 4, 0), min(row + 4, len(seen))
        part = (p * seen)[lo:hi].sum() / seen[lo:hi].sum().clamp(min=1) * (hi - lo)
        rows_seen = seen.mean(1) > 0.1
        found.append((len(seen) - hi + part.item(), int(rows_seen[row:].sum()), bool(rows_seen[:row].sum() > 1)))
    return found


def told_levels(levels):
    """Of (said, true): levels in sight, how many within 0.7 mm; those with 2 mm of wet wall missed; false ones where dry."""
    true = [(s, t) for s, t in levels if t is not None and t[2]]
    off = [MM_PER_CELL * abs(s[0] - t[0]) for s, t in true if s is not None]
    deep = [s for s, t in true if t[1] * MM_PER_CELL >= 2]
    dry = [s for s, t in levels if t is None]
    return {"levels": len(true), "within_0.7_mm": float(np.sum(np.array(off) <= 0.7) / max(len(true), 1)),
            "median_mm": float(np.median(off)) if off else None, "missed_2_mm": sum(s is None for s in deep) / max(len(deep), 1),
            "deep": len(deep), "dry": len(dry), "false_levels": sum(s is not None for s in dry) / max(len(dry), 1)}


def sheet(net, pairs, path, rows=14):
    net.eval()
    pair, target, water = (t.float()[:rows] for t in pairs[0][:3])
    with torch.no_grad():
        p, said = net(pair)
    net.train()
    def colour(m, w):
        w = F.interpolate(w, scale_factor=4.0)
        return torch.stack((m[:, 1] + w[:, 1], m[:, 0] - m[:, 1], 0.6 * w[:, 0] + w[:, 1]), 1).clamp(0, 1)
    cells = torch.cat((pair[:, 3:].flip(1), pair[:, :3].flip(1), colour(target, water[:, :2] * water[:, 2:]), colour(p, said)), 3)
    half = len(cells) // 2
    tall = torch.cat((torch.cat(list(cells[:half]), 1), torch.cat(list(cells[half:2 * half]), 1)), 2)
    write_png(path, (tall.permute(1, 2, 0).cpu().numpy() * 255).round().astype(np.uint8))


def copy_of(start):
    net = RootMap()
    if start:
        with np.load(start) as saved:
            load(net, {k: torch.from_numpy(saved[k]) for k in saved.files})
    return net.to(DEVICE)


class Logits(torch.nn.Module):
    """What is learnt from, as a module of its own so that several cards can share it."""

    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        return self.net.logits(x)


def learn(args, rank, cards):
    """Gives the averaged weights and the number of steps. Every card makes pictures of its own."""
    begun = time.time()
    torch.manual_seed(args.seed * 100 + rank)
    random.seed(args.seed * 100 + rank)
    net = copy_of(args.start).to(memory_format=torch.channels_last)
    mean = copy.deepcopy(net)
    shared = Logits(net)
    if cards > 1:
        shared = DistributedDataParallel(shared, device_ids=[rank] if DEVICE == "cuda" else None)
    taught = list(net.parameters())
    averaged, learnt = ([v for v in n.state_dict().values() if v.is_floating_point()] for n in (mean, net))
    optimiser = torch.optim.AdamW(taught, lr=args.rate, weight_decay=1e-3)
    net.train()
    rendered = Rendered(args.rendered, DEVICE) if args.rendered else None
    pool, album, step, shown, seconds, running = [], Album(args.album), 0, begun, {}, 0.0
    def now():
        if DEVICE == "cuda" and step % 60 == 0:
            torch.cuda.synchronize()
        return time.time()
    while True:
        done = torch.tensor([(time.time() - begun) / (args.minutes * 60)], device=DEVICE)
        if cards > 1:
            together.broadcast(done, 0)
        done = done.item()
        if done >= 1:
            break
        t0 = now()
        if step % args.shows == 0 or step < 60:
            photo = step // args.shows
            if photo % args.photos == 0 or len(pool) < POOL:
                pool.append(new_scenes(args.batch))
                if len(pool) > POOL:
                    pool.pop(0)
            album.add(*photographed(random.choice(pool)))
        t1 = now()
        pair, target, water, share = album.show(args.batch, rendered, args.rendered_share)
        rate = args.rate * min(1, (step + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-5
        for group in optimiser.param_groups:
            group["lr"] = rate
        with torch.autocast(DEVICE, dtype=torch.bfloat16, enabled=DEVICE == "cuda"):
            logits = shared(pair.contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits, target, water, share)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        size = torch.nn.utils.clip_grad_norm_(taught, 2.0)
        if torch.isfinite(size):
            optimiser.step()
        keep = min(0.999, (step + 1) / (step + 20))
        with torch.no_grad():
            torch._foreach_mul_(averaged, keep)
            torch._foreach_add_(averaged, learnt, alpha=1 - keep)
        t2 = now()
        if step % 60 == 0:
            seconds = {"pictures": t1 - t0, "learn": t2 - t1}
            running = loss.item()
        step += 1
        if rank == 0 and time.time() - shown > 30:
            shown = time.time()
            print(f"{time.time() - begun:5.0f} s  step {step}  loss {running:.4f}  " +
                  "  ".join(f"{k} {v * 1000:.0f} ms" for k, v in seconds.items()), flush=True)
            save(mean, args.out)
    return mean, step


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--minutes", type=float, default=9)
    ap.add_argument("--out", required=True)
    ap.add_argument("--from", dest="start")
    ap.add_argument("--batch", type=int, default=32, help="pairs a step, on each card")
    ap.add_argument("--rate", type=float, default=3e-3)
    ap.add_argument("--photos", type=int, default=4, help="times each scene is photographed, on average")
    ap.add_argument("--shows", type=int, default=8, help="times each photographed pair is shown, on average")
    ap.add_argument("--album", type=int, default=ALBUM)
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--rendered", help="what pack_rendered.py wrote")
    ap.add_argument("--rendered-share", type=float, default=0.2, help="of the pictures in a step")
    ap.add_argument("--validation-batches", type=int, default=6)
    args = ap.parse_args()
    os.makedirs(args.out, exist_ok=True)
    begun = time.time()
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True      # sizes stay the same; with so few channels the first guess is often a poor one
    rank, cards = int(os.environ.get("LOCAL_RANK", 0)), int(os.environ.get("WORLD_SIZE", 1))
    if cards > 1:
        together.init_process_group("nccl" if DEVICE == "cuda" else "gloo")
    mean, step = learn(args, rank, cards)
    if cards > 1:
        together.destroy_process_group()
    if rank:
        return
    save(mean, args.out)
    pairs = validation_pairs(args.validation_batches, args.batch)
    report = validate(mean, pairs)
    sheet(mean, pairs, os.path.join(args.out, "validation.png"))
    best = max(THRESHOLDS, key=lambda t: report["as_given"][t]["dice"] + report["no_first"][t]["dice"])
    summary = {"steps": step, "pictures": step * args.batch * cards, "seconds": time.time() - begun, "threshold": best, "report": report}
    with open(os.path.join(args.out, "validation.json"), "w") as f:
        json.dump(summary, f, indent=1)
    for name in report:
        for t in THRESHOLDS:
            print(name, t, {k: round(v, 4) for k, v in report[name][t].items()})
        print(name, "water", report[name]["water"])
    print("steps", step, "threshold", best, flush=True)


def save(net, out):
    np.savez(os.path.join(out, "weights.npz"), **{k: v.detach().float().cpu().numpy() if v.is_floating_point() else v.cpu().numpy()
                                                  for k, v in net.state_dict().items()})


if __name__ == "__main__":
    main()
