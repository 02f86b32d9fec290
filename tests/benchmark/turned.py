#!/usr/bin/env python3
"""Scenes photographed with the camera turned away, so that the picture cuts the tub: docs/measured/tub.md, "Cut off by the picture".

    tests/benchmark/turned.py SCENES OUT {left,right,top,bottom} [SHARE] [TUB,TUB...]

SCENES: folder with photos/, truth/, batch.csv and perhaps settings.json. OUT gets the same, with SHARE (0.125) of the
wall's width or height outside the picture on that side. A turn about the lens changes no line of sight, so the truth turns
with the photo. Beyond the photo's end: the same room, the tub taken out of it, mirrored. `slipglass_places OUT` then tells
how well the tubs are found. Needs python3-opencv and exiftool.
"""
import glob
import json
import os
import shutil
import subprocess
import sys

import cv2
import numpy as np

SIDES = {"left": (0, 1), "right": (0, -1), "top": (1, 0), "bottom": (-1, 0)}  # turns about x and y


def turn(side, angle):
    about_x, about_y = (angle * way for way in SIDES[side])
    c, s = np.cos(about_x), np.sin(about_x)
    x = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    c, s = np.cos(about_y), np.sin(about_y)
    return x @ np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


def outside(side, hull, width, height):
    """Share of the hull's extent beyond that side of the picture."""
    (left, top), (right, bottom) = hull.min(0), hull.max(0)
    return {"left": -left / (right - left), "right": (right - width + 1) / (right - left),
            "top": -top / (bottom - top), "bottom": (bottom - height + 1) / (bottom - top)}[side]


def room_without_tub(picture, hull, noise):
    """The picture with the tub and what stands in it painted over from beside."""
    height, width = picture.shape[:2]
    k = width / 400
    small = cv2.resize(picture, (400, int(height / k)), interpolation=cv2.INTER_AREA)
    (left, top), (right, bottom) = hull.min(0) / k, hull.max(0) / k
    aside = 0.15 * (right - left)
    hole = np.zeros(small.shape[:2], np.uint8)
    cv2.rectangle(hole, (int(left - aside), 0), (int(right + aside), int(bottom + 0.06 * (bottom - top))), 255, -1)
    room = cv2.resize(cv2.inpaint(small, hole, 5, cv2.INPAINT_TELEA), (width, height), interpolation=cv2.INTER_CUBIC)
    return np.clip(room + noise.normal(0, 3, room.shape), 0, 255).astype(np.uint8)


def exiftool(*arguments):
    return subprocess.run(["exiftool", "-n", *arguments], capture_output=True, text=True, check=True).stdout.strip()


def main(scenes, out, side, share=0.125, tubs=None):
    noise = np.random.default_rng(3)
    for folder in ("photos", "truth"):
        os.makedirs(f"{out}/{folder}", exist_ok=True)
    for name in ("batch.csv", "settings.json"):
        if os.path.exists(f"{scenes}/{name}"):
            shutil.copy(f"{scenes}/{name}", out)
    for truth in sorted(glob.glob(f"{scenes}/truth/*.truth.json")):
        stem = os.path.basename(truth)[:-len(".truth.json")]
        photo = f"{scenes}/photos/{stem}.jpg"
        if not os.path.exists(photo) or (tubs and stem.split("_")[0] not in tubs):
            continue
        picture = cv2.imread(photo)
        masks = {k: cv2.imread(f"{scenes}/truth/{stem}.{k}.png", 0) for k in ("roots", "wall")}
        height, width = picture.shape[:2]
        focal = float(exiftool("-s3", "-FocalLengthIn35mmFormat", photo) or 26) / 36 * max(height, width)
        camera = np.array([[focal, 0, (width - 1) / 2], [0, focal, (height - 1) / 2], [0, 0, 1]])
        ys, xs = np.where(masks["wall"] > 127)
        hull = cv2.convexHull(np.column_stack([xs, ys]).astype(np.float32))

        def homography(angle):
            return camera @ turn(side, angle) @ np.linalg.inv(camera)

        def missed(angle):
            turned = cv2.perspectiveTransform(hull, homography(angle))[:, 0]
            return abs(outside(side, turned, width, height) - share)

        best = min(np.linspace(-0.9, 0.9, 721), key=missed)
        if missed(best) > 0.03:
            print("no turn does it for", stem)
            continue
        way = homography(best)
        room = cv2.warpPerspective(room_without_tub(picture, hull[:, 0], noise), way, (width, height),
                                   borderMode=cv2.BORDER_REFLECT_101)
        shown = cv2.warpPerspective(np.full((height, width), 255, np.uint8), way, (width, height)) == 255
        turned = cv2.warpPerspective(picture, way, (width, height), flags=cv2.INTER_CUBIC,
                                     borderMode=cv2.BORDER_REPLICATE)
        turned[~shown] = room[~shown]
        cv2.imwrite(f"{out}/photos/{stem}.jpg", turned, [cv2.IMWRITE_JPEG_QUALITY, 92])
        # The picture is upright already.
        exiftool("-q", "-overwrite_original", "-TagsFromFile", photo, "-all:all", f"{out}/photos/{stem}.jpg")
        exiftool("-q", "-overwrite_original", "-Orientation=1", f"{out}/photos/{stem}.jpg")
        for kind, mask in masks.items():
            cv2.imwrite(f"{out}/truth/{stem}.{kind}.png", cv2.warpPerspective(mask, way, (width, height)))
        shutil.copy(truth, f"{out}/truth")


if __name__ == "__main__":
    if len(sys.argv) < 4 or sys.argv[3] not in SIDES:
        sys.exit(__doc__)
    main(*sys.argv[1:4], *([float(sys.argv[4])] if len(sys.argv) > 4 else []),
         *([sys.argv[5].split(",")] if len(sys.argv) > 5 else []))
