"""Rendered tubs as pairs of panels, to learn from beside the invented ones.

    /usr/bin/python3 pack_rendered.py pairs.npz SCENES [SCENES ...]      # numpy and OpenCV 4.6

Panels are unrolled with the true camera and the earlier ones moved onto today's by texture, as evaluate.py does. Photos are
kept as JPEG inside the npz, truths as PNG. Give only scenes that nothing is measured on.
"""
import glob
import json
import os
import sys

import cv2
import numpy as np

from evaluate import MM_PER_PX, Wall, align, unroll

LINE_PX = 3.0      # as in photograph.py


def on_panel(mask, wall):
    u, v, _ = wall.panel_to_photo()
    return cv2.remap(mask, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT) > 127


def read(stem, kind, shape):
    path = f"{stem}.{kind}.png"
    return cv2.imread(path, 0) if os.path.exists(path) else np.zeros(shape[:2], np.uint8)


def look(stem, truth, scenes):
    """What one photo gives: today's panel; truth planes root, browned; water planes below, line, counted; share of columns."""
    photo = cv2.imread(os.path.join(scenes, "photos", truth["photo"]))
    wall = Wall(truth)
    panel, facing = unroll(photo, wall)
    inside = on_panel(read(stem, "wall", photo.shape), wall) & facing
    root = on_panel(read(stem, "roots", photo.shape), wall) & inside
    browned = on_panel(read(stem, "roots_browned", photo.shape), wall) & root
    height = ((wall.h - np.arange(wall.h) - 0.5) * MM_PER_PX)[:, None] + np.zeros((1, wall.w))
    level = truth["water_level_mm"]
    under = (wall.inner_base + level - height) / MM_PER_PX if level else np.full(height.shape, -1e3)
    water = np.stack((1 / (1 + np.exp(-2 * under.clip(-50, 50))), np.exp(-(under / LINE_PX) ** 2), inside | (facing & (height < wall.inner_base))), 2)
    u = wall.panel_to_photo()[0][wall.h // 2]
    share = np.diff(u, append=2 * u[-1] - u[-2])
    share = (share / share.max()).clip(0.1, 1) * facing[wall.h // 2]
    quarter = cv2.resize((255 * water).astype(np.float32), None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    return {"panel": panel, "seen": facing & (panel.max(2) > 0), "truth": np.dstack((root, browned, browned)).astype(np.uint8) * 255,
            "water": quarter.round().clip(0, 255).astype(np.uint8), "share": share.astype(np.float32)}


def main(out, *folders):
    kept = {"pasts": [], "of": [], "todays": [], "truths": [], "waters": [], "shares": []}
    packed = lambda name, picture, *how: np.frombuffer(cv2.imencode(name, picture, how)[1], np.uint8)
    for scenes in folders:
        tubs = {}
        for path in sorted(glob.glob(os.path.join(scenes, "truth", "*.truth.json"))):
            truth = json.load(open(path))
            tubs.setdefault(truth["tub"], []).append((path[:-len(".truth.json")], truth))
        for tub, dates in tubs.items():
            looks = []
            for stem, truth in dates:
                now = look(stem, truth, scenes)
                kept["todays"].append(packed(".jpg", now["panel"], cv2.IMWRITE_JPEG_QUALITY, 88))
                kept["truths"].append(packed(".png", now["truth"]))
                kept["waters"].append(packed(".png", now["water"]))
                kept["shares"].append(now["share"])
                for i, then in enumerate(looks[:2]):
                    if i and then["truth"][..., 0].any():      # the program looks back to the earliest
                        continue
                    late = then["truth"][..., 0].mean() / 255 > 0.02
                    seen = then["seen"]
                    if late:      # the program hides them
                        seen = seen & (cv2.dilate(then["truth"][..., 0], np.ones((7, 7), np.uint8)) == 0)
                    moved, match = align(then["panel"], seen, now["panel"])
                    if match < 0.25:
                        continue
                    kept["of"].append(len(kept["todays"]) - 1)
                    # what is hidden has sharp edges, which JPEG would blur
                    kept["pasts"].append(packed(".png", moved) if late else packed(".jpg", moved, cv2.IMWRITE_JPEG_QUALITY, 88))
                    print(tub, truth["date"], f"match {match:.2f}", "roots hidden" if late else "", flush=True)
                looks.append(now)
    joined = {}
    for name, parts in kept.items():
        if name == "of":
            joined[name] = np.array(parts)
            continue
        joined[name] = np.concatenate(parts)
        joined[name + "_end"] = np.cumsum([len(p) for p in parts])
    np.savez(out, **joined)
    print(len(kept["todays"]), "photos,", len(kept["of"]), "pairs,", os.path.getsize(out) >> 20, "MiB")


if __name__ == "__main__":
    main(*sys.argv[1:])
