"""The yardstick of `npm run bench`: the dark green colour index of plots with OpenCV and numpy, two processes, nothing else.

python3 bench-opencv.py OUTLINES PHOTO...   prints one JSON object a photo: its plots' indexes.
Install: Debian's package python3-opencv (it brings numpy), or `pip install opencv-python-headless numpy`.
"""
import json
import sys
from multiprocessing import Pool

import cv2
import numpy as np

cv2.setNumThreads(1)


def measure(job):
    path, plots = job
    image = cv2.imread(path, cv2.IMREAD_COLOR)
    found = {}
    for plot in plots:
        corners = np.array(plot["corners"], dtype=np.float64)
        left, top = np.floor(corners.min(axis=0)).astype(int).clip(0)
        right, bottom = np.ceil(corners.max(axis=0)).astype(int) + 1
        hsv = cv2.cvtColor(image[top:bottom, left:right], cv2.COLOR_BGR2HSV_FULL)
        inside = np.zeros(hsv.shape[:2], np.uint8)
        cv2.fillConvexPoly(inside, np.round(corners - (left, top)).astype(np.int32), 255)
        # Hue 45 to 140 degrees in 256 steps, saturation from 0.10.
        turf = cv2.inRange(hsv, (32, 26, 0), (99, 255, 255)) & inside
        h, s, v, _ = cv2.mean(hsv, turf)
        found[plot["id"]] = ((h * 360 / 256 - 60) / 60 + (1 - s / 255) + (1 - v / 255)) / 3
    return {"photo": path, "dgci": found}


if __name__ == "__main__":
    outlines, *photos = sys.argv[1:]
    with open(outlines, encoding="utf-8") as file:
        plots = json.load(file)["plots"]
    with Pool(2) as pool:
        for answer in pool.imap(measure, [(photo, plots) for photo in photos]):
            print(json.dumps(answer))
