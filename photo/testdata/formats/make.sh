#!/bin/sh
# Draws one small picture and writes it in every format with general tools, so
# that the readers are tested on files that other programs wrote.
# Made with: Python 3.11, numpy 1.24.2, OpenCV 4.6.0, libheif 1.15.1 (heif-enc),
# cwebp 1.2.4, exiftool 12.57, all from Debian 12.
set -eu
cd "$(dirname "$0")"
/usr/bin/python3 - <<'PY'
import cv2, numpy
y, x = numpy.mgrid[0:120, 0:160]
rgb = numpy.zeros((120, 160, 3), numpy.uint8)
rgb[..., 0] = 40 + x                       # red grows to the right
rgb[..., 1] = 60 + y                       # green grows downwards
rgb[..., 2] = 90
rgb[20:50, 20:60] = (200, 30, 40)          # a red block, top left
bgr = rgb[..., ::-1].copy()
cv2.circle(bgr, (110, 80), 18, (230, 240, 250), -1, cv2.LINE_AA)
cv2.imwrite('picture.png', bgr)
cv2.imwrite('picture.tif', bgr, [cv2.IMWRITE_TIFF_COMPRESSION, 5])
cv2.imwrite('picture.jpg', bgr, [cv2.IMWRITE_JPEG_QUALITY, 95])
cv2.imwrite('progressive.jpg', bgr, [cv2.IMWRITE_JPEG_QUALITY, 95, cv2.IMWRITE_JPEG_PROGRESSIVE, 1])
cv2.imwrite('grey.jpg', cv2.cvtColor(bgr, cv2.COLOR_BGR2GRAY), [cv2.IMWRITE_JPEG_QUALITY, 95])
PY
cwebp -quiet -lossless picture.png -o picture.webp
heif-enc -q 95 picture.png -o picture.heic 2>/dev/null
exiftool -q -overwrite_original -Orientation#=6 -DateTimeOriginal='2026:03:04 05:06:07' \
  -OffsetTimeOriginal=+02:00 -FocalLength=60 -FocalLengthIn35mmFormat=90 -SubjectDistance=0.21 \
  -FocalPlaneXResolution=2555 -FocalPlaneResolutionUnit#=3 -Make=Invented -Model=One -LensModel='60 mm macro' picture.jpg
