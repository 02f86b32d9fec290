#!/usr/bin/env bash
# Makes the pictures of this folder with programs that share no code of ours; see README.md.
# Debian: g++, imagemagick, webp, libheif-dev, libheif-examples, libimage-exiftool-perl.
set -euo pipefail
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Six blocks of 8 x 8 pixels, "1 2 3 / 4 5 6" as grey 40 x number: the picture of 10-exif-orientation.csv.
blocks() { convert -size 8x8 xc:"gray($((40 * $1)))" xc:"gray($((40 * $2)))" xc:"gray($((40 * $3)))" +append "$work/row$1.png"; }
blocks 1 2 3
blocks 4 5 6
convert "$work/row1.png" "$work/row4.png" -append -define png:color-type=2 "$work/blocks.png"
convert "$work/blocks.png" -sampling-factor 1x1 -quality 100 -strip "$work/blocks.jpg"
convert "$work/blocks.png" -strip -compress zip "$work/blocks.tif"
cwebp -quiet -lossless "$work/blocks.png" -o "$work/blocks.webp"
# HEVC needs more room: the same blocks, 32 x 32 pixels each.
convert "$work/blocks.png" -filter point -resize 400% "$work/large.png"

heif-enc -q 90 -p chroma=444 "$work/large.png" -o "$work/large.heic" >/dev/null
g++ turn_heic.cpp -lheif -o "$work/turn_heic"

note() { exiftool -q -overwrite_original -n "$@"; }
exif=(-DateTimeOriginal="2026:01:12 09:30:10" -FocalLengthIn35mmFormat=26)
for code in 1 2 3 4 5 6 7 8; do
    for kind in jpg png tif webp; do
        cp "$work/blocks.$kind" "orientation_$code.$kind"
        note -IFD0:Orientation=$code "${exif[@]}" "orientation_$code.$kind"
    done
    # Like a phone: turned by the file's own irot and imir, and the EXIF block says the same.
    "$work/turn_heic" "$work/large.heic" $code "orientation_$code.heic"
    note -IFD0:Orientation=$code "${exif[@]}" "orientation_$code.heic"
done

# No rotation of its own, but EXIF orientation 6.
cp "$work/large.heic" exif_only_6.heic
note -IFD0:Orientation=6 "${exif[@]}" exif_only_6.heic

# Alpha: left half red at alpha 0, right half red opaque. Depth 10: a grey of 50 %.
convert -size 32x64 xc:"rgba(255,0,0,0)" xc:"rgba(255,0,0,1)" +append -define png:color-type=6 "$work/alpha.png"
heif-enc -q 95 "$work/alpha.png" -o alpha.heic >/dev/null
cwebp -quiet -lossless -exact "$work/alpha.png" -o alpha.webp
convert "$work/alpha.png" -strip -compress lzw alpha.tif
convert -size 64x64 xc:"gray(50%)" -depth 16 -define png:bit-depth=16 -define png:color-type=2 "$work/deep.png"
heif-enc -q 95 -b 10 "$work/deep.png" -o depth_10.heic >/dev/null

# Ink: full cyan beside full yellow, as Adobe programs write it (values reversed, APP14 marker).
convert -size 16x16 xc:"cmyk(255,0,0,0)" xc:"cmyk(0,0,255,0)" +append -colorspace CMYK -quality 100 \
    -sampling-factor 1x1 -strip cmyk.jpg

# A header that claims 20000 x 20000 pixels, with next to none behind it.
python3 - <<'PY'
import struct, zlib
def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
with open("bomb.png", "wb") as f:
    f.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 20000, 20000, 8, 2, 0, 0, 0))
            + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b""))
PY
