"""What numpy does with the tables of tables.ts: `read FILE`, or `write FILE OUT`.

Prints JSON. `read` counts the processor time of the whole process and gives the sum of the last
row; `write` takes frame, time_s, x, y, z, w as raw doubles and counts what savetxt alone took.
"""
import json
import sys
import time

import numpy as np

if sys.argv[1] == 'read':
    table = np.loadtxt(sys.argv[2], delimiter=',', skiprows=1)
    print(json.dumps({'seconds': time.process_time(), 'sum': float(sum(table[-1].tolist()))}))
else:
    rows = np.fromfile(sys.argv[2]).reshape(-1, 6)
    begin = time.process_time()
    np.savetxt(
        sys.argv[3],
        rows,
        fmt=['%d', '%.9f', '%.12f', '%.12f', '%.12f', '%.12f'],
        delimiter=',',
        header='frame,time_s,x,y,z,w',
        comments='',
    )
    print(json.dumps({'seconds': time.process_time() - begin}))
