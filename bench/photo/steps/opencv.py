"""The same steps with OpenCV on one thread, and the decoding with libvips,
as processor time in milliseconds: python3 opencv.py FILE ROUNDS."""
import json
import resource
import subprocess
import sys

import cv2
import numpy

cv2.setNumThreads(1)
name, rounds = sys.argv[1], int(sys.argv[2])
data = numpy.fromfile(name, numpy.uint8)


def used(who):
    r = resource.getrusage(who)
    return (r.ru_utime + r.ru_stime) * 1000


def timed(f, who=resource.RUSAGE_SELF):
    best = float('inf')
    for _ in range(rounds):
        start = used(who)
        f()
        best = min(best, used(who) - start)
    return best


ms = {}
ms['decode to a quarter'] = timed(lambda: cv2.imdecode(data, cv2.IMREAD_REDUCED_COLOR_4))
ms['decode to a quarter, grey'] = timed(lambda: cv2.imdecode(data, cv2.IMREAD_REDUCED_GRAYSCALE_4))
colour = cv2.imdecode(data, cv2.IMREAD_REDUCED_COLOR_4)
ms['to grey'] = timed(lambda: cv2.cvtColor(colour, cv2.COLOR_BGR2GRAY).astype(numpy.float32) / 255)
grey = cv2.cvtColor(colour, cv2.COLOR_BGR2GRAY).astype(numpy.float32) / 255
ms['blur 2.5 px'] = timed(lambda: cv2.GaussianBlur(grey, (0, 0), 2.5))


def blobs():
    for s in (1.9, 2.5, 3.3):
        cv2.Laplacian(cv2.GaussianBlur(grey, (0, 0), s), cv2.CV_32F, ksize=1, scale=-s * s)


def tiles():
    h, w = grey.shape[0] // 32 * 32, grey.shape[1] // 32 * 32
    square = blurred[:h, :w] * blurred[:h, :w]
    cv2.resize(square, (w // 32, h // 32), interpolation=cv2.INTER_AREA)


ms['blobs at three scales'] = timed(blobs)
blurred = cv2.GaussianBlur(grey, (0, 0), 2.5)
ms['tile statistics'] = timed(tiles)
out = '/dev/shm/holdfast-bench.v'
start = timed(lambda: subprocess.run(['vips', '--version'], capture_output=True, check=True), resource.RUSAGE_CHILDREN)


def children(*args):
    return timed(lambda: subprocess.run(['vips', *args], capture_output=True, check=True), resource.RUSAGE_CHILDREN) - start


vips_ms = {'decode to a quarter': children('copy', name + '[shrink=4]', out)}
copy = children('copy', out, out + '.2.v')
vips_ms['blur 2.5 px'] = max(0, children('gaussblur', out, out + '.2.v', '2.5') - copy)
print(json.dumps({'opencv': ms, 'libvips': vips_ms, 'versions': cv2.__version__}))
