#!/usr/bin/python3
"""Values of general reference libraries on the pictures in ../real, for
reference_test.go. Run in this folder; versions are written into values.json.

Debian 12: python3-skimage 0.19.3, python3-opencv 4.6.0, python3-scipy 1.10.1.
"""
import json

import cv2
import numpy as np
import scipy
import scipy.ndimage as ndi
import scipy.special
import skimage
import skimage.feature
import skimage.filters

out = {"versions": {"scikit-image": skimage.__version__, "opencv": cv2.__version__,
                    "scipy": scipy.__version__, "numpy": np.__version__}}


def grey(name):
    """The grey picture as the least of the primaries, 0 to 1."""
    m = cv2.imread("../real/" + name, cv2.IMREAD_COLOR)
    return m.min(axis=2).astype(np.float64) / 255


def points(a, n, seed):
    rng = np.random.default_rng(seed)
    y = rng.integers(0, a.shape[0], n)
    x = rng.integers(0, a.shape[1], n)
    return [[int(i), int(j)] for i, j in zip(x, y)]


gravel, grass = grey("gravel.png"), grey("grass.png")
checks = []
for name, a in (("gravel.png", gravel), ("grass.png", grass)):
    for sigma in (1.0, 1.9, 2.5, 3.3):
        # skimage's Gaussian cut at 3.5 standard deviations, border mirrored
        # about its edge; the Laplacian of it from second differences.
        g = skimage.filters.gaussian(a, sigma, mode="reflect", truncate=3.5)
        log = -sigma ** 2 * ndi.laplace(g, mode="reflect")
        checks += [{"picture": name, "sigma": sigma, "x": x, "y": y, "gaussian": g[y, x], "log": log[y, x]}
                   for x, y in points(a, 12, int(sigma * 10))]
out["blur"] = checks

# The exact derivatives of the Gaussian, where ours are differences.
ridge = []
for sigma in (1.2, 2.2):
    xx = ndi.gaussian_filter(grass, sigma, order=(0, 2))
    yy = ndi.gaussian_filter(grass, sigma, order=(2, 0))
    xy = ndi.gaussian_filter(grass, sigma, order=(1, 1))
    # Eigenvalues by scikit-image: the larger first.
    l2, l1 = skimage.feature.hessian_matrix_eigvals([yy, xy, xx])
    r = sigma ** 2 * np.maximum(0, -l1 - 0.7 * np.abs(l2))
    ridge += [{"sigma": sigma, "x": x, "y": y, "ridge": r[y, x]} for x, y in points(grass, 200, 7)
              if 10 < x < grass.shape[1] - 10 and 10 < y < grass.shape[0] - 10]
out["ridge"] = ridge

# Local RMS of a LoG response under a Gaussian window of 56 pixels, by OpenCV.
log = -2.5 ** 2 * ndi.laplace(skimage.filters.gaussian(gravel, 2.5, mode="reflect", truncate=3.5), mode="reflect")
rms = np.sqrt(cv2.GaussianBlur(log ** 2, (0, 0), 56, borderType=cv2.BORDER_REFLECT))
out["rms"] = [{"x": x, "y": y, "rms": rms[y, x]} for x, y in points(gravel, 40, 3)]

# Blobs of the Hubble deep field, as in scikit-image's own gallery.
hubble = grey("hubble_deep_field.jpg")
blobs = skimage.feature.blob_log(hubble, min_sigma=1.9, max_sigma=3.3, num_sigma=3, threshold=0.05, overlap=1)
inside = [b for b in blobs if 12 < b[0] < hubble.shape[0] - 12 and 12 < b[1] < hubble.shape[1] - 12]
out["blobs"] = [[float(b[1]), float(b[0])] for b in inside]

# The upper incomplete gamma function at whole n.
tail = []
for n in (1, 2, 3, 5, 8, 14, 24):
    for l in (1e-6, 0.1, 1.0, n - 0.5, float(n), n + 3.0, 2.0 * n + 10, 80.0, 300.0):
        tail.append({"n": n, "l": l, "q": float(scipy.special.gammaincc(n, l))})
out["tail"] = tail

# Neighbouring frames of the focus stack laid over one another: ECC, affine.
ecc = []
for i in range(5):
    a = cv2.imread(f"../real/stack_step/step{i}.jpg", cv2.IMREAD_GRAYSCALE)
    b = cv2.imread(f"../real/stack_step/step{i + 1}.jpg", cv2.IMREAD_GRAYSCALE)
    w = np.eye(2, 3, dtype=np.float32)
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 300, 1e-7)
    # Coarse to fine by hand, as ECC has no pyramid of its own.
    for f in (8, 4, 2, 1):
        small = [cv2.resize(m, None, fx=1 / f, fy=1 / f, interpolation=cv2.INTER_AREA) for m in (a, b)]
        w[:, 2] /= f
        c, w = cv2.findTransformECC(small[0], small[1], w, cv2.MOTION_AFFINE, criteria, None, 5)
        w[:, 2] *= f
    ecc.append({"from": i, "to": i + 1, "correlation": float(c), "warp": [float(v) for v in w.ravel()]})
out["ecc"] = ecc

with open("values.json", "w") as f:
    json.dump(out, f, indent=0)
