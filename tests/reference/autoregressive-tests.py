# Makes autoregressive-tests.json: python3 autoregressive-tests.py > autoregressive-tests.json (numpy, scipy). The F tests that
# r-autoregressive.json leaves out, as no R package has Kenward-Roger for such a model: each case at the variance and
# correlation that R found, all by dense matrices, derivatives of the covariance written out.
# Kenward & Roger 1997, Biometrics 53:983, section 3, first order as r-autoregressive.R.
import json, pathlib
import numpy as np, scipy
from scipy.stats import f as f_distribution

here = pathlib.Path(__file__).parent
out = []
for case in json.loads((here / 'r-autoregressive.json').read_text())['cases']:
    d = case['data']
    y, day = np.array(d['y'], float), np.array(d['day'], float)
    blocks, trts, days = sorted(set(d['block'])), sorted(set(d['trt'])), sorted(set(d['day']))
    n, k, t = len(y), len(trts), len(days)

    def row(block, cell):  # blocks by their differences from the first; every cell of treatment by day has its own mean
        r = np.zeros(len(blocks) - 1 + k * t)
        if block is None: r[: len(blocks) - 1] = 1 / len(blocks)
        elif block > 0: r[block - 1] = 1
        r[len(blocks) - 1 + cell] = 1
        return r
    cell = lambda i, j: i * t + j
    X = np.array([row(blocks.index(b), cell(trts.index(a), days.index(e))) for b, a, e in zip(d['block'], d['trt'], d['day'])])
    same = np.equal.outer(np.array(d['subject']), np.array(d['subject']))
    gap = np.abs(np.subtract.outer(day, day))
    s2, rho = case['variances']['variance'], case['variances']['rho']
    V = s2 * same * rho**gap
    G = [same * rho**gap, s2 * same * np.where(gap > 0, gap * rho ** np.maximum(gap - 1, -50), 0)]
    Vi = np.linalg.inv(V)
    Phi = np.linalg.inv(X.T @ Vi @ X)
    beta = Phi @ X.T @ Vi @ y
    P = [-X.T @ Vi @ g @ Vi @ X for g in G]
    Q = [[X.T @ Vi @ a @ Vi @ b @ Vi @ X for b in G] for a in G]
    I2 = np.array([[np.trace(Vi @ G[i] @ Vi @ G[j]) - 2 * np.trace(Phi @ Q[i][j]) + np.trace(Phi @ P[i] @ Phi @ P[j]) for j in (0, 1)] for i in (0, 1)])
    W = 2 * np.linalg.inv(I2)
    U = sum(W[i, j] * (Q[i][j] - P[i] @ Phi @ P[j]) for i in (0, 1) for j in (0, 1))
    PA = Phi + 2 * Phi @ U @ Phi
    mean = lambda i: sum(row(None, cell(i, j)) for j in range(t)) / t
    contrasts = {
        'trt': [mean(i) - mean(0) for i in range(1, k)],
        'trt:dayf': [row(None, cell(i, j)) - row(None, cell(i, 0)) - row(None, cell(0, j)) + row(None, cell(0, 0)) for i in range(1, k) for j in range(1, t)],
    }
    tests = []
    for name, rows in contrasts.items():
        L = np.array(rows).T
        q = L.shape[1]
        Theta = L @ np.linalg.inv(L.T @ Phi @ L) @ L.T
        T = [Theta @ Phi @ p @ Phi for p in P]
        A1 = sum(W[i, j] * np.trace(T[i]) * np.trace(T[j]) for i in (0, 1) for j in (0, 1))
        A2 = sum(W[i, j] * np.trace(T[i] @ T[j]) for i in (0, 1) for j in (0, 1))
        B = (A1 + 6 * A2) / (2 * q)
        g = ((q + 1) * A1 - (q + 4) * A2) / ((q + 2) * A2)
        c = 3 * q + 2 * (1 - g)
        c1, c2, c3 = g / c, (q - g) / c, (q + 2 - g) / c
        E = 1 / (1 - A2 / q)
        S = (2 / q) * (1 + c1 * B) / ((1 - c2 * B) ** 2 * (1 - c3 * B))
        r = S / (2 * E**2)
        df2 = 4 + (q + 2) / (q * r - 1)
        b = L.T @ beta
        F = df2 / (E * (df2 - 2)) * (b @ np.linalg.inv(L.T @ PA @ L) @ b) / q
        tests.append({'of': name.split(':'), 'f': F, 'df1': q, 'df2': df2, 'p': f_distribution.sf(F, q, df2)})
    out.append(tests)
print(json.dumps({'source': f'numpy {np.__version__}, scipy {scipy.__version__}; tests/reference/autoregressive-tests.py', 'cases': out}))
