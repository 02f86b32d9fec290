"""Train the root map on invented panels, made while it learns.

    python3 train.py --minutes 9 --out OUT [--from OUT/weights.npz]

Writes OUT/weights.npz (the averaged weights), OUT/validation.json and OUT/validation.png (first, today, truth, answer).
Nothing but this folder is read: no photo and no rendering of a tub takes part.
"""
import argparse
import copy
import json
import math
import os
import random
import struct
import time
import zlib

import numpy as np
import torch
import torch.nn.functional as F

from draw import DEVICE
from model import RootMap
from photograph import make_pair
from scene import make_scenes

SIZE = 384
POOL = 24          # batches of scenes held; each is photographed anew every time it is shown
VALIDATION_SEED = 20260101
THRESHOLDS = [round(0.2 + 0.05 * i, 2) for i in range(13)]


def new_scenes(batch):
    with torch.no_grad():
        view, first, later = make_scenes(batch, SIZE)
        return view, first.half(), later.half()


def photographed(scenes):
    with torch.no_grad():
        view, first, later = scenes
        return make_pair(view, first.float(), later.float())


def loss_of(logits, target, share):
    """Cross entropy for every pixel plus one minus Dice over the batch, per channel; browned counts half."""
    total = 0.0
    share = share[:, 0].expand(-1, target.shape[2], -1)
    for channel, weight in ((0, 1.0), (1, 0.5)):
        z, t = logits[:, channel].float(), target[:, channel]
        p = torch.sigmoid(z)
        dice = 1 - (2 * (share * p * t).sum() + 50) / ((share * p).sum() + (share * t).sum() + 50)
        total = total + weight * (3 * F.binary_cross_entropy_with_logits(z, t, share) + 0.5 * dice)
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
        for pair, target, share in pairs:
            pair, target, share = pair.float(), target.float(), share.float()
            if blank:
                pair = torch.cat((pair[:, :3], torch.zeros_like(pair[:, 3:])), 1)
            with torch.no_grad():
                p = net(pair)
            wide = F.max_pool2d(target[:, :1], 5, 1, 2)
            for t in THRESHOLDS:
                m = (p > t).float()
                mw = F.max_pool2d(m[:, :1], 5, 1, 2)
                r, q = m[:, :1], target[:, :1]
                sums[t] += np.array([v.sum().item() for v in (share * r * q, share * r, share * q, share * r * wide, share * q * mw,
                                                           share * m[:, 1:] * target[:, 1:], share * m[:, 1:], share * target[:, 1:])])
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
        report[name] = rows
    net.train()
    return report


def write_png(path, rgb):
    h, w, _ = rgb.shape
    raw = b"".join(b"\0" + rgb[i].tobytes() for i in range(h))
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    with open(path, "wb") as f:
        f.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", w, h, 8, 2, 0, 0, 0)) +
                chunk(b"IDAT", zlib.compress(raw, 6)) + chunk(b"IEND", b""))


def sheet(net, pairs, path, rows=14):
    net.eval()
    pair, target = (t.float() for t in pairs[0][:2])
    with torch.no_grad():
        p = net(pair[:rows])
    net.train()
    def colour(m):
        return torch.stack((m[:, 1], m[:, 0] - m[:, 1], torch.zeros_like(m[:, 0])), 1).clamp(0, 1)
    cells = torch.cat((pair[:rows, 3:].flip(1), pair[:rows, :3].flip(1), colour(target[:rows]), colour(p)), 3)
    half = len(cells) // 2
    tall = torch.cat((torch.cat(list(cells[:half]), 1), torch.cat(list(cells[half:2 * half]), 1)), 2)
    write_png(path, (tall.permute(1, 2, 0).cpu().numpy() * 255).round().astype(np.uint8))


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--minutes", type=float, default=9)
    ap.add_argument("--out", required=True)
    ap.add_argument("--from", dest="start")
    ap.add_argument("--batch", type=int, default=32)
    ap.add_argument("--rate", type=float, default=3e-3)
    ap.add_argument("--reuse", type=int, default=4, help="times each scene batch is photographed, on average")
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--validation-batches", type=int, default=6)
    args = ap.parse_args()
    os.makedirs(args.out, exist_ok=True)
    begun = time.time()
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    pairs = validation_pairs(args.validation_batches, args.batch)
    torch.manual_seed(args.seed)
    random.seed(args.seed)
    net = RootMap().to(DEVICE)
    if args.start:
        with np.load(args.start) as saved:
            net.load_state_dict({k: torch.from_numpy(saved[k]) for k in saved.files})
    mean = copy.deepcopy(net)
    taught = [p for p in net.parameters()]
    optimiser = torch.optim.AdamW(taught, lr=args.rate, weight_decay=1e-3)
    net.train()
    net = net.to(memory_format=torch.channels_last)
    pool, step, shown, seconds = [], 0, begun, {"scene": 0.0, "photo": 0.0, "learn": 0.0}
    def now():
        if DEVICE == "cuda" and step % 50 == 0:
            torch.cuda.synchronize()
        return time.time()
    running = 0.0
    while True:
        done = (time.time() - begun) / (args.minutes * 60)
        if done >= 1:
            break
        t0 = now()
        if len(pool) < POOL and (step % 2 == 0) or step % args.reuse == 0:
            pool.append(new_scenes(args.batch))
            if len(pool) > POOL:
                pool.pop(0)
        t1 = now()
        pair, target, share = photographed(random.choice(pool))
        if random.random() < 0.5:
            pair, target, share = pair.flip(3), target.flip(3), share.flip(3)
        t2 = now()
        rate = args.rate * min(1, (step + 1) / 150) * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-5
        for group in optimiser.param_groups:
            group["lr"] = rate
        with torch.autocast(DEVICE, dtype=torch.bfloat16, enabled=DEVICE == "cuda"):
            logits = net.logits(pair.contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits, target, share)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(taught, 2.0)
        if torch.isfinite(loss):
            optimiser.step()
        keep = min(0.998, (step + 1) / (step + 20))
        with torch.no_grad():
            for a, b in zip(mean.state_dict().values(), net.state_dict().values()):
                if a.is_floating_point():
                    a.mul_(keep).add_(b, alpha=1 - keep)
                else:
                    a.copy_(b)
        t3 = now()
        if step % 50 == 0:
            seconds = {"scene": t1 - t0, "photo": t2 - t1, "learn": t3 - t2}
            running = loss.item()
        step += 1
        if time.time() - shown > 30:
            shown = time.time()
            print(f"{time.time() - begun:5.0f} s  step {step}  loss {running:.4f}  " +
                  "  ".join(f"{k} {v * 1000:.0f} ms" for k, v in seconds.items()), flush=True)
            save(mean, args.out)
    report = validate(mean, pairs)
    save(mean, args.out)
    sheet(mean, pairs, os.path.join(args.out, "validation.png"))
    best = max(THRESHOLDS, key=lambda t: report["as_given"][t]["dice"] + report["no_first"][t]["dice"])
    summary = {"steps": step, "pictures": step * args.batch, "seconds": time.time() - begun, "threshold": best, "report": report}
    with open(os.path.join(args.out, "validation.json"), "w") as f:
        json.dump(summary, f, indent=1)
    for name in report:
        for t in THRESHOLDS:
            print(name, t, {k: round(v, 4) for k, v in report[name][t].items()})
    print("steps", step, "threshold", best, flush=True)


def save(net, out):
    np.savez(os.path.join(out, "weights.npz"), **{k: v.detach().float().cpu().numpy() if v.is_floating_point() else v.cpu().numpy()
                                                  for k, v in net.state_dict().items()})


if __name__ == "__main__":
    main()
