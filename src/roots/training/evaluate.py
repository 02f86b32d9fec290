"""Score a root map on a folder of rendered scenes with exact truth (renderings, not photographs).

    /usr/bin/python3 evaluate.py SCENES [--model ../model/root-map.onnx] [--pictures DIR]

Unrolls every photo with its true camera to +-80 degrees at 0.15 mm/px, aligns the tub's reference panel to it by texture, runs
OpenCV's dnn, which answers as the program's engine does (tests/network), maps the answer back to the photo, and compares inside the true wall. So it measures
the map alone: no error of finding the tub is in it. Thresholds come from the model's own json.
"""
import argparse
import glob
import json
import os
import time

import cv2
import numpy as np

MM_PER_PX = 0.15
EDGE = np.radians(80)
# Inner wall radius (mm) = first + second * height above the table, where the truth does not give the tub's shape. Measured: the tangent rays at both sides of the scenes'
# wall.png (rows 12 mm off base and surface, five photos) fit these lines to 0.2 mm. The catalogue's rim diameter also takes
# in a step and a lip, so a line drawn straight from base to rim would be up to 2 mm too wide at the top.
INNER_WALL = {"quart": (44.03, 0.0798), "gallon": (76.9, 0.0939)}
INNER_BASE = {"quart": 1.2, "gallon": 1.4}      # mm above the table, as in the program that drew them


class Wall:
    """The inner wall of one photo's tub: from panel to photo and back."""

    def __init__(self, truth):
        shape = truth.get("tub_shape_mm")
        self.r0, self.slope = ((shape["rb"] - shape["t"], (shape["rw"] - shape["rb"]) / shape["H"]) if shape else
                               INNER_WALL[truth["tub_type"]])
        self.inner_base = shape["zin"] if shape else INNER_BASE[truth["tub_type"]]
        m = np.array(truth["camera_matrix"]["world_to_camera"])
        self.rotate, self.shift = m[:3, :3], m[:3, 3]
        self.eye = -self.rotate.T @ self.shift
        self.focal, self.centre = truth["camera_matrix"]["focal_px"], truth["camera_matrix"]["principal_point_px"]
        self.front = np.arctan2(self.eye[1], self.eye[0])
        self.top = truth["medium_surface_mm"] + 5
        self.mid = self.r0 + self.slope * self.top / 2
        to32 = lambda v: int(np.ceil(v / 32) * 32)
        self.w, self.h = to32(2 * EDGE * self.mid / MM_PER_PX), to32(self.top / MM_PER_PX)

    def panel_to_photo(self):
        angle = (np.arange(self.w) + 0.5 - self.w / 2) * MM_PER_PX / self.mid
        z = (self.h - np.arange(self.h) - 0.5) * MM_PER_PX
        a, z = np.meshgrid(angle, z)
        r = self.r0 + self.slope * z
        nx, ny = np.cos(self.front + a), np.sin(self.front + a)
        p = np.stack((r * nx, r * ny, z), -1)
        to_eye = self.eye - p
        facing = (to_eye[..., 0] * nx + to_eye[..., 1] * ny - self.slope * to_eye[..., 2]) / np.linalg.norm(to_eye, axis=-1)
        c = p @ self.rotate.T + self.shift
        u = self.centre[0] + self.focal * c[..., 0] / -c[..., 2]
        v = self.centre[1] - self.focal * c[..., 1] / -c[..., 2]
        return (u - 0.5).astype(np.float32), (v - 0.5).astype(np.float32), facing > 0.06

    def photo_to_panel(self, height, width):
        u, v = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
        d = np.stack(((u - self.centre[0]) / self.focal, -(v - self.centre[1]) / self.focal, -np.ones_like(u)), -1) @ self.rotate
        o = self.eye
        ro = self.r0 + self.slope * o[2]
        a = d[..., 0] ** 2 + d[..., 1] ** 2 - (self.slope * d[..., 2]) ** 2
        b = o[0] * d[..., 0] + o[1] * d[..., 1] - ro * self.slope * d[..., 2]
        c = o[0] ** 2 + o[1] ** 2 - ro ** 2
        inside = b * b - a * c
        t = (-b - np.sqrt(np.maximum(inside, 0))) / a
        p = o + d * t[..., None]
        angle = np.arctan2(p[..., 1], p[..., 0]) - self.front
        angle = (angle + np.pi) % (2 * np.pi) - np.pi
        x = angle * self.mid / MM_PER_PX + self.w / 2 - 0.5
        y = self.h - p[..., 2] / MM_PER_PX - 0.5
        x[inside <= 0] = -1e4
        away = -(d / np.linalg.norm(d, axis=-1, keepdims=True))
        facing = (away[..., 0] * np.cos(angle + self.front) + away[..., 1] * np.sin(angle + self.front) - self.slope * away[..., 2])
        return x.astype(np.float32), y.astype(np.float32), (facing > 0.5) & (inside > 0)


def unroll(photo, wall):
    u, v, facing = wall.panel_to_photo()
    panel = cv2.remap(photo, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    panel[~facing] = 0
    return panel, facing


def texture(panel):
    grey = cv2.cvtColor(panel, cv2.COLOR_BGR2GRAY).astype(np.float32)
    grey = cv2.GaussianBlur(grey, (0, 0), 1.0)
    low = cv2.GaussianBlur(grey, (0, 0), 12)
    spread = np.sqrt(cv2.GaussianBlur((grey - low) ** 2, (0, 0), 20)) + 4
    return np.clip((grey - low) / spread, -2.5, 2.5)


def align(first, first_seen, today):
    """The reference panel moved onto today's: one shift (turn of the tub), then smooth local shifts."""
    a, b = texture(first), texture(today)
    h, w = b.shape
    x0, x1, reach = int(w * 0.25), int(w * 0.75), 150
    core = b[40:h - 40, x0:x1]
    search = cv2.copyMakeBorder(a, 0, 0, reach, reach, cv2.BORDER_CONSTANT)[:, x0:x1 + 2 * reach]
    score = cv2.matchTemplate(search, core, cv2.TM_CCOEFF_NORMED)
    _, best, _, (bx, by) = cv2.minMaxLoc(score)
    dx, dy = bx - reach, by - 40
    side, step, slack = 128, 64, 10
    ys, xs = range(side // 2, h - side // 2 + 1, step), range(side // 2, w - side // 2 + 1, step)
    field = np.zeros((len(ys), len(xs), 2), np.float32)
    trust = np.zeros((len(ys), len(xs)), np.float32)
    pad = 200
    wide = cv2.copyMakeBorder(a, pad, pad, pad, pad, cv2.BORDER_CONSTANT)
    for i, y in enumerate(ys):
        for j, x in enumerate(xs):
            block = b[y - side // 2:y + side // 2, x - side // 2:x + side // 2]
            top, left = y - side // 2 + dy + pad - slack, x - side // 2 + dx + pad - slack
            area = wide[top:top + side + 2 * slack, left:left + side + 2 * slack]
            s = cv2.matchTemplate(area, block, cv2.TM_CCOEFF_NORMED)
            _, good, _, (px, py) = cv2.minMaxLoc(s)
            if good > 0.3:
                field[i, j] = px - slack, py - slack
                trust[i, j] = good ** 2
    weight = cv2.GaussianBlur(trust, (0, 0), 1.2, borderType=cv2.BORDER_REPLICATE)
    for k in range(2):  # leave out lone blocks that disagree with those around them
        middle = cv2.medianBlur(field[..., k], 3)
        trust[np.abs(field[..., k] - middle) > 3] = 0
    weight = cv2.GaussianBlur(trust, (0, 0), 0.8, borderType=cv2.BORDER_REPLICATE) + 1e-3
    smooth = [cv2.GaussianBlur(field[..., k] * trust, (0, 0), 0.8, borderType=cv2.BORDER_REPLICATE) / weight for k in range(2)]
    gx = (np.arange(w) - side // 2) / step
    gy = (np.arange(h) - side // 2) / step
    mx, my = np.meshgrid(gx.astype(np.float32), gy.astype(np.float32))
    sx, sy = (cv2.remap(s, mx, my, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE) for s in smooth)
    px, py = np.meshgrid(np.arange(w, dtype=np.float32), np.arange(h, dtype=np.float32))
    moved = cv2.remap(first, px + dx + sx, py + dy + sy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    seen = cv2.remap(first_seen.astype(np.uint8), px + dx + sx, py + dy + sy, cv2.INTER_NEAREST, borderMode=cv2.BORDER_CONSTANT)
    moved[seen == 0] = 0
    return moved, best


def around(v):
    """Mean over 3 x 3 blocks of 32 px, nothing beyond the ends: a value a block."""
    h, w = v.shape[0] // 32, v.shape[1] // 32
    blocks = cv2.resize(v, (w, h), interpolation=cv2.INTER_AREA)
    return cv2.blur(blocks, (3, 3), borderType=cv2.BORDER_CONSTANT).reshape(h, w, -1)


def blob(today, first):
    """What the network is shown: LocalLight of model.py in numpy."""
    size = today.shape[1], today.shape[0]
    wide = lambda v: np.atleast_3d(cv2.resize(v, size, interpolation=cv2.INTER_LINEAR))
    planes, past = [], None
    for panel in (today, first):
        x = panel.astype(np.float32) / 255
        visible = (x > 0).astype(np.float32)
        seen = around(visible)
        mean = wide(around(x) / (seen + 0.001))
        luma = mean @ np.array((0.114, 0.587, 0.299), np.float32)
        planes.append((x, (x - mean * visible) / (luma[..., None] + 0.04) * 0.5))
        past = wide(seen.mean(2))
    (a, b), (c, d) = planes
    return np.ascontiguousarray(np.concatenate((a, c, b, d, past), 2).transpose(2, 0, 1))[None]


def tolerant(mask, truth):
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    near_truth, near_mask = cv2.dilate(truth.astype(np.uint8), disc) > 0, cv2.dilate(mask.astype(np.uint8), disc) > 0
    return np.array([(mask & near_truth).sum(), mask.sum(), (truth & near_mask).sum(), truth.sum()], float)


def f1(counts):
    precise, recall = counts[0] / max(counts[1], 1), counts[2] / max(counts[3], 1)
    return 2 * precise * recall / max(precise + recall, 1e-9)


def level_of(water, seen, wall):
    """Height of standing water over the inner base, mm, and how much speaks for it; by cross entropy of the rows above and
    below and of the line. Both None where nothing speaks for water. water (2,h/4,w/4), seen (h,w)."""
    rows, cols = water.shape[1:]
    height = (wall.h - (np.arange(rows) + 0.5) * 4) * MM_PER_PX
    counts = cv2.resize(seen.astype(np.float32), (cols, rows), interpolation=cv2.INTER_AREA)
    counts[(height < wall.inner_base - 0.3) | (height > wall.top - 3)] = 0
    width = max(counts.sum(1).max(), 1)
    odds = lambda p, lo, hi: np.log(np.clip(p, lo, hi) / (1 - np.clip(p, lo, hi)))
    below = (odds(water[0], 0.02, 0.98) * counts).sum(1) / width
    line = (np.maximum(odds(water[1], 0.02, 0.9) + 1.5, 0) * counts).sum(1) / width
    gain = np.cumsum(below[::-1])[::-1] + line
    row = int(gain.argmax())
    if gain[row] < 1:
        return None, None
    lo, hi = max(row - 4, 0), min(row + 4, rows)
    while hi > lo + 1 and counts[hi - 1].sum() < 0.1 * width:      # past the base
        hi -= 1
    share = (water[0] * counts).sum(1) / np.maximum(counts.sum(1), 1e-6)
    full = share[lo:hi].sum()
    return (wall.h - 4 * hi + 4 * full) * MM_PER_PX - wall.inner_base, float(gain[row])


def runs(row):
    steps = np.diff(np.concatenate(([0], row.astype(np.int8), [0])))
    return list(zip(np.where(steps == 1)[0], np.where(steps == -1)[0]))


def edge_errors(mask, truth, degrees):
    """Where a row's run of root meets one run of truth and no other: [degrees from the tub's middle, left and right edge
    of the mask less the truth's, width of the truth], px."""
    found = []
    for y in np.where(mask.any(1) & truth.any(1))[0]:
        ours, true = runs(mask[y]), runs(truth[y])
        for a, b in true:
            met = [(c, d) for c, d in ours if c < b and d > a]
            if len(met) != 1:
                continue
            c, d = met[0]
            if sum(a2 < d and b2 > c for a2, b2 in true) == 1 and max(b - a, d - c) <= 14:
                found.append((degrees[y, a], c - a, d - b, b - a))
    return found


def tell_edges(rows, step=15):
    print("degrees from the middle: roots, mean px that the left and the right edge lie too far right, true width")
    for low in range(-75, 75, step):
        of = np.array([r[1:] for r in rows if low <= r[0] < low + step], float)
        if len(of) >= 50:
            print(f"{low:4d}..{low + step:3d}: {len(of):5d}  {of[:, 0].mean():+.2f}  {of[:, 1].mean():+.2f}  {of[:, 2].mean():.1f}")


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("scenes")
    here = os.path.dirname(os.path.abspath(__file__))
    ap.add_argument("--model", default=os.path.join(here, "..", "model", "root-map.onnx"))
    ap.add_argument("--threshold", type=float)
    ap.add_argument("--browned-threshold", type=float)
    ap.add_argument("--pictures")
    ap.add_argument("--photos", action="store_true", help="a line a photo as well")
    ap.add_argument("--edges", action="store_true", help="also how far off the edges of roots are, by angle (with first)")
    args = ap.parse_args()
    described = os.path.splitext(args.model)[0] + ".json"
    told = json.load(open(described)) if os.path.exists(described) else {}
    bar = args.threshold or told.get("threshold", 0.5)
    brown_bar = args.browned_threshold or told.get("browned_threshold", 0.4)
    net = cv2.dnn.readNetFromONNX(args.model)
    tubs = {}
    for path in sorted(glob.glob(os.path.join(args.scenes, "truth", "*.truth.json"))):
        truth = json.load(open(path))
        tubs.setdefault(truth["tub"], []).append((path[:-len(".truth.json")], truth))
    print(f"threshold {bar}, browned {brown_bar}")
    pooled = {"with first": [], "without": []}
    took, edges = [], []
    levels = {"with first": [], "without": []}
    for tub, dates in tubs.items():
        first = None
        rows = {"with first": [], "without": []}
        for stem, truth in dates:
            photo = cv2.imread(os.path.join(args.scenes, "photos", truth["photo"]))
            read = lambda kind: cv2.imread(f"{stem}.{kind}.png", 0) if os.path.exists(f"{stem}.{kind}.png") else None
            roots, inside = read("roots") > 127, read("wall") > 127
            browned = read("roots_browned")
            browned = np.zeros_like(roots) if browned is None else browned > 127
            wall = Wall(truth)
            today, seen = unroll(photo, wall)
            aligned, match = (np.zeros_like(today), 0.0) if first is None else align(*first, today)
            if first is None:
                first = today, seen
            x, y, front = wall.photo_to_panel(*roots.shape)
            for name, other in (("with first", aligned), ("without", np.zeros_like(today))):
                begun = time.time()
                net.setInput(blob(today, other))
                has_water = "water" in net.getUnconnectedOutLayersNames()
                p, *water = (v[0] for v in net.forward(["roots", "water"] if has_water else ["roots"]))
                took.append((time.time() - begun) / today.shape[0] / today.shape[1] * 512 * 512)
                back = [cv2.remap(np.ascontiguousarray(c), x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT) for c in p]
                mask, brown = (back[0] > bar) & inside, (back[1] > brown_bar) & (back[0] > bar) & inside
                truth_in = roots & inside
                sums = np.array([(mask & truth_in).sum(), mask.sum(), truth_in.sum(), inside.sum(), (brown & browned).sum(), brown.sum(), (browned & inside).sum()], float)
                near = np.array([(mask & truth_in & front).sum(), (mask & front).sum(), (truth_in & front).sum(), (inside & front).sum()], float)
                rows[name].append((sums, tolerant(mask, truth_in), near, tolerant(mask & front, truth_in & front), match))
                if has_water:
                    front_panel = seen & (np.abs((np.arange(wall.w) + 0.5 - wall.w / 2) * MM_PER_PX / wall.mid) < np.radians(65))
                    levels[name].append((tub, truth["date"], truth["water_level_mm"] or 0.0, *level_of(water[0], front_panel, wall)))
                    if args.photos:
                        print(levels[name][-1], flush=True)
                if args.photos:
                    tell(f"{tub} {truth['date']} {name}", rows[name][-1:])
                if args.edges and name == "with first":
                    edges += edge_errors(mask, truth_in, np.degrees((x + 0.5 - wall.w / 2) * MM_PER_PX / wall.mid))
                if args.pictures:
                    os.makedirs(args.pictures, exist_ok=True)
                    shown = photo.copy()
                    shown[mask & truth_in] = (0, 255, 0)
                    shown[mask & ~truth_in] = (0, 0, 255)
                    shown[~mask & truth_in] = (255, 0, 0)
                    cv2.imwrite(os.path.join(args.pictures, f"{tub}_{truth['date']}_{name.replace(' ', '-')}.png"), shown)
                    if name == "with first":
                        cv2.imwrite(os.path.join(args.pictures, f"{tub}_{truth['date']}_panels.png"), np.vstack((today, other)))
        for name, all_rows in rows.items():
            later = all_rows[1:]
            pooled[name] += all_rows
            tell(f"{tub} {name}", later if name == "with first" else all_rows)
    for name, all_rows in pooled.items():
        tell(f"all {name}", all_rows)
    for name, found in levels.items():
        tell_levels(name, found)
    if args.edges:
        tell_edges(edges)
    print(f"{np.median(took) * 1000:.0f} ms per 512 x 512 panel pixels")


def tell_levels(name, found, least=(1, 2, 3, 4, 6, 8)):
    """Standing water from how much must speak for it: precision, recall, and how far levels are off where both say water."""
    for bar in least if found else ():
        said = [f for f in found if f[4] is not None and f[4] >= bar]
        right = [f for f in said if f[2] > 0]
        off = np.abs([f[3] - f[2] for f in right]) if right else np.array([np.nan])
        deep = [f for f in found if f[2] >= 5 and f not in said]
        print(f"water {name}, from {bar}: precision {len(right) / max(len(said), 1):.2f} recall "
              f"{len(right) / max(sum(f[2] > 0 for f in found), 1):.2f} level off {np.median(off):.2f}, 90 % {np.quantile(off, 0.9):.2f} mm; "
              f"missed of 5 mm or more: {len(deep)}")


def tell(name, rows):
    s, t = sum(r[0] for r in rows), sum(r[1] for r in rows)
    off = [100 * (r[0][1] - r[0][2]) / r[0][3] for r in rows]
    bare = [100 * r[0][1] / r[0][3] for r in rows if r[0][2] < 20]
    line = f"{name:16s} coverage off: median {np.median(np.abs(off)):.2f} worst {max(off, key=abs):+.2f}"
    if bare:
        line += f"  rootless worst {max(bare):.3f} %"
    if s[2] > 0:
        line += f"  Dice {2 * s[0] / (s[1] + s[2]):.3f} (precision {s[0] / max(s[1], 1):.2f}, recall {s[0] / s[2]:.2f})  F1(2 px) {f1(t):.3f}"
        f, g = sum(r[2] for r in rows), sum(r[3] for r in rows)
        line += f"  front 60: Dice {2 * f[0] / (f[1] + f[2]):.3f} F1 {f1(g):.3f}"
    bare_front = [100 * r[2][1] / r[2][3] for r in rows if r[0][2] < 20]
    if bare_front:
        line += f" rootless worst {max(bare_front):.3f} %"
    if s[6] > 0:
        line += f"  browned Dice {2 * s[4] / (s[5] + s[6]):.3f}"
    print(line + f"  match {np.mean([r[4] for r in rows]):.2f}", flush=True)


if __name__ == "__main__":
    main()
