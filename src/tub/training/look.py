"""Draws some invented photos with their truth beside them.   python3 look.py OUT.png [seed]"""
import sys, os
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../roots/training"))
import numpy as np
import torch
from media_album import MediaAlbum
from paint import make_photos
from draw import write_png

if __name__ == "__main__":
    torch.manual_seed(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    with torch.no_grad():
        album = MediaAlbum(12, 4)
        photo, truth, _ = make_photos(12, album)
    rgb = photo[:, :3].flip(1)
    areas = truth[:, :3]
    lines = torch.stack((truth[:, 3:5].amax(1), truth[:, 5:7].amax(1), truth[:, 7]), 1)
    cells = torch.cat((rgb, (rgb * 0.4 + 0.6 * areas), (rgb * 0.4 + lines).clamp(0, 1)), 3)
    tall = torch.cat([torch.cat(list(cells[i::2]), 1) for i in range(2)], 2)
    write_png(sys.argv[1], (tall.permute(1, 2, 0).numpy() * 255).astype(np.uint8))
