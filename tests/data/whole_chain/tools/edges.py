"""What contact takes: the program's small-slope chain written again, solved as a quadratic programme.

Sections and roots as in src/model; contact of every section on its centre line, at its inner edge or at both, with the onset
of the touching line at the rim and its return at the hub; a loose rim that only rolls, or a ring beam (uniform roll and 32
harmonics) that bends between the arm roots, its inner edge half-way between them kept above the base, its height free; a
plate that goes down with the hub. Prints for every case the force of the program, times that of the choice over that of the
program's own choice, against the solids, in percent.

    python3 edges.py FLATSPIRE CASES_FOLDER        (numpy, scipy)
"""
import csv, io, os, re, subprocess, sys, tempfile, tomllib
import numpy as np, scipy.sparse as sp, scipy.sparse.linalg as sla
from scipy.interpolate import PchipInterpolator
from scipy.optimize import nnls

TWIST, SLOPE, HEIGHT, CURVED, RING, ROLL = 0.94, 1.00, 0.62, 0.61, 0.35, 1.19   # src/model/root.rs
ONSET, RETURN = 1.0, 0.25                                                      # src/model/touch.rs
CHOICES = {   # sides of the section that touch, loose rim bends and lifts, plate modulus
    'own': (('line',), True, False),
    'both edges': (('inner', 'outer'), True, False),
    'inner edge': (('inner',), True, False),
    'rim rolls': (('line',), False, False),
    'E/(1 - nu^2)': (('line',), True, True),
    'centre line': (('centre',), False, True),
}

def torsion_constant(b, t):
    a, b = min(b, t), max(b, t)
    s = sum(np.tanh(n * np.pi * b / a / 2) / n**5 for n in range(1, 40, 2))
    return b * a**3 / 3 * (1 - 192 / np.pi**5 * a / b * s)

def ring_flexibility(E, G, t, outer, inner, arms):
    """Ring held at its inner edge half-way between roots: (rise, outside down) at a root for unit (force, couple)."""
    R, b = (outer + inner) / 2, outer - inner
    bend, twist = E * b * t**3 / 12, G * torsion_constant(b, t)
    uniform = 12 * arms / (2 * np.pi * E * t**3 * np.log(outer / inner))
    half_way = np.pi / arms if arms > 1 else np.pi / 2
    def energy(p, q):   # loads: couple (outside up), force (up), angle
        total = uniform * sum(c for c, _, _ in p) * sum(c for c, _, _ in q)
        for m in (k * arms for k in range(1, 33) if k * arms > 1):
            k11, k12, k22 = bend + twist * m**2, -(bend + twist) * m**2 / R, (bend * m**2 + twist) * m**2 / R**2
            scale = arms / (np.pi * R) * R**2 / (bend * twist * m**2 * (m**2 - 1)**2 / R**2)
            (c1, f1), (c2, f2) = [[sum(load[j] * np.cos(m * load[2]) for load in x) for j in (0, 1)] for x in (p, q)]
            total += scale * (k22 * c1 * c2 - k12 * (c1 * f2 + f1 * c2) + k11 * f1 * f2)
        return total
    force, couple = [(0, 1, 0), (R - inner, -1, half_way)], [(-1, 0, 0)]
    return np.array([[energy(p, q) for q in (force, couple)] for p in (force, couple)])

def chain(folder, rim, choice, segments=200):
    sides, rises, plate = CHOICES[choice]
    spring = tomllib.load(open(f'{folder}/spring.toml', 'rb'))
    sheet, disc, seat = spring['sheet'], spring['disc'], spring['seat']
    E, G, t, N, slot = sheet['youngs_modulus'], sheet['shear_modulus'], sheet['thickness'], disc['arms'], disc['slot']
    nu = E / 2 / G - 1
    rows = np.genfromtxt(f'{folder}/stations.csv', delimiter=',', names=True)
    angle, radius, width, height = np.radians(rows['angle_deg']), rows['radius_mm'], rows['width_mm'], rows['free_height_mm']
    arc = np.r_[0, np.cumsum(np.hypot(np.diff(radius), np.diff(angle) * (radius[1:] + radius[:-1]) / 2))]
    at = np.linspace(0, arc[-1], segments + 1)
    angle, radius, width, height = (PchipInterpolator(arc, v)(at) for v in (angle, radius, width, height))
    step = np.diff(np.c_[radius * np.cos(angle), radius * np.sin(angle)], axis=0)
    length = np.hypot(*step.T); c, s = (step / length[:, None]).T
    w, r = (width[1:] + width[:-1]) / 2, (radius[1:] + radius[:-1]) / 2
    normal = w * r * np.diff(angle) / length
    upright = np.minimum(t / w, 2); share = 1 + upright * (-1.448 + upright * (0.7215 - 0.133 * upright))
    GJ = G * np.array([torsion_constant(b, t) for b in normal]) * (1 + share * ((1 - np.minimum(w / r / 2, .95)**2)**-2 - 1))
    flat = np.clip((normal / t - 1) / 2, 0, 1) if plate else 0 * normal
    EI = E * normal * t**3 / 12 / (1 - nu**2 * flat**2 * (3 - 2 * flat))
    nodes = segments + 1; hub = 3 * nodes; ring, middle = [hub + 3, hub + 4], hub + 5; size = hub + 6
    entries = []
    def add(index, matrix):
        index = np.array(list(index)); entries.append((np.repeat(index, len(index)), np.tile(index, len(index)), matrix.ravel()))
    for i in range(segments):
        rows = np.array([[0, -c[i], -s[i], 0, c[i], s[i]], [0, -s[i], c[i], 0, s[i], -c[i]],
                         [1 / length[i], s[i] / 2, -c[i] / 2, -1 / length[i], s[i] / 2, -c[i] / 2]])
        add(range(3 * i, 3 * i + 6), rows.T @ np.diag([GJ[i] / length[i], EI[i] / length[i], 12 * EI[i] / length[i]]) @ rows)
    def root(k, clamped, extra=0.0):
        less = CURVED * w[k] / r[k] - (0 if clamped else RING)
        return np.array([3 * EI[k] / (HEIGHT * w[k])**3, 1 / (max(TWIST - less, .2) * w[k] / GJ[k] + extra),
                         1 / (max(SLOPE - less, .2) * w[k] / EI[k])])
    outer = disc['outer_diameter'] / 2
    inner = np.clip(disc['arm_outer_diameter'] / 2 + slot / 2 - w[0] / 2, .05 * outer, .9999 * outer)
    loose = rim == 'resting'; rises = loose and rises
    uniform = 12 * N / (2 * np.pi * E * t**3 * np.log(outer / inner))
    rows = np.zeros((3, 5)); rows[0, 0] = 1; rows[1, 1:3] = c[0], s[0]; rows[2, 1:3] = s[0], -c[0]
    fixed, conditions = [], []
    if rises:
        rows[0, 3] = -1; rows[0, 4] = radius[0] - (outer + inner) / 2; rows[1, 4] = -1
        apart = np.array([[1, 0, -1.], [0, 1, 0]])
        add(ring + [middle], apart.T @ np.linalg.inv(ring_flexibility(E, G, t, outer, inner, N)) @ apart
            + np.diag([0, 0, 1e-6 * EI[0] / w[0]**3]))
        conditions.append(({middle: 1.0}, 0.0))
    else:
        fixed += ring + [middle]
    stiff = root(0, loose or 'rim_clamp_diameter' in disc, ROLL * uniform if loose and not rises else 0.0)
    add([0, 1, 2] + ring, rows.T @ np.diag(stiff) @ rows)
    k = segments - 1
    rows = np.array([[-1, 0, 0, 1, 0, 0], [0, -c[k], -s[k], 0, c[k], s[k]], [0, -s[k], c[k], 0, s[k], -c[k]]])
    add(range(hub - 3, hub + 3), rows.T @ np.diag(root(k, 'hub_clamp_diameter' in disc)) @ rows)
    turned = (angle - angle[0]) / (angle[-1] - angle[0])
    line = (1 - np.exp(-radius[0] * (angle - angle[0]) / (ONSET * t))) * np.minimum(1, (1 - turned) / RETURN)
    for i in range(nodes):
        for side in sides:
            out = {'line': -line[i] * (seat['pressing'] == 'hub'), 'inner': -1, 'outer': 1, 'centre': 0}[side] * width[i] / 2
            rise = {3 * i: 1.0, 3 * i + 1: out * np.sin(angle[i]), 3 * i + 2: -out * np.cos(angle[i])}
            conditions.append((rise, height[i]))
            if seat['pressing'] == 'plates':
                conditions.append(({hub: 1.0, **{k: -v for k, v in rise.items()}}, height[-1] - height[i]))
    A = sp.lil_matrix((len(conditions), size))
    for q, (row, _) in enumerate(conditions):
        for j, v in row.items(): A[q, j] = v
    i, j, v = (np.concatenate(part) for part in zip(*entries))
    K = sp.csc_matrix((v, (i, j)), shape=(size, size)); K = K + sp.diags([1e-12 * abs(K).max()] * size)
    if seat['hub'] == 'tilting' and N == 1:
        x, y = radius[-1] * np.cos(angle[-1]), radius[-1] * np.sin(angle[-1])
        T = sp.lil_matrix((size, size)); T.setdiag(1); T[hub, hub + 1] = y; T[hub, hub + 2] = -x; T = T.tocsc()
        K, A = (T.T @ K @ T).tocsc(), A.tocsr() @ T
        drop = fixed + [hub]
    else:
        drop = fixed + [hub, hub + 1, hub + 2]
    return K.tocsc(), A.tocsr(), np.array([gap for _, gap in conditions]), hub, drop, N, height[-1]

def force(model, deflections):
    K, A, gap, hub, drop, arms, _ = model
    free = np.setdiff1d(np.arange(K.shape[0]), drop)
    solve = sla.splu(K[free][:, free].tocsc()).solve
    Y = solve(A[:, free].T.toarray()); F = A[:, free] @ Y; follow = solve(K[free][:, [hub]].toarray().ravel())
    with_hub = A[:, [hub]].toarray().ravel()
    found, held, mean = [], np.zeros(len(gap), bool), F.diagonal().mean()
    for x in deflections:
        start = gap + (A[:, free] @ follow) * x - with_hub * x
        for turn in range(60):
            push = np.zeros(len(gap)); on = np.where(held)[0]
            if len(on): push[on] = np.linalg.solve(F[np.ix_(on, on)] + 1e-13 * mean * np.eye(len(on)), -start[on])
            low = start + F @ push; sinking = ~held & (low < -1e-9)
            if not sinking.any() and not (push < 0).any(): break
            if turn > 8 and sinking.any(): sinking &= low <= np.quantile(low[sinking], .25)
            held = (held & (push >= 0)) | sinking
        else:   # it cycles: non-negative least squares ends
            factor = np.linalg.cholesky(F + 1e-10 * mean * np.eye(len(gap)))
            push, _ = nnls(factor.T, np.linalg.solve(factor, -start), maxiter=20000); held = push > 0
        u = np.zeros(K.shape[0]); u[free] = follow * x + Y @ push; u[hub] = -x
        found.append(arms * (with_hub @ push - (K[[hub]] @ u)[0]))
    return np.array(found)

def main(program, cases):
    for case in sorted(c for c in os.listdir(cases) if os.path.exists(f'{cases}/{c}/spring.toml')):
        folder = f'{cases}/{case}'; text = open(f'{folder}/spring.toml').read()
        for file in sorted(f for f in os.listdir(folder) if re.match(r'curve.*\.csv$', f)):
            rim = {'curve_resting_rim.csv': 'resting', 'curve_rim_held.csv': 'held'}.get(file) or tomllib.loads(text)['seat']['rim']
            rows = [[float(v) for v in row] for row in list(csv.reader(open(f'{folder}/{file}')))[1:]]
            own = chain(folder, rim, 'own')
            rows = [row for k, row in enumerate(rows) if k == 0 or row[0] > rows[k - 1][0] + 1e-4 * own[-1]]
            x, solid = np.array([row for row in rows if .03 * own[-1] <= row[0] <= .9 * own[-1]]).T
            with tempfile.TemporaryDirectory() as made:
                open(f'{made}/spring.toml', 'w').write(re.sub(r'rim = "\w+"', f'rim = "{rim}"', text))
                np.savetxt(f'{made}/at.csv', np.c_[x, x], delimiter=',', header='deflection_mm,force_n', comments='')
                out = subprocess.run([program, 'predict', f'{made}/spring.toml', '--at', f'{made}/at.csv'], capture_output=True, text=True).stdout
            known = np.genfromtxt(io.StringIO(out), delimiter=',', names=True)['force_n']
            base = force(own, x)
            for choice in CHOICES:
                error = 100 * (known * force(chain(folder, rim, choice), x) / base / solid - 1)
                print(f'{case:20s} {rim:8s} {choice:13s} rms {np.sqrt(np.mean(error**2)):5.2f}  worst {error[abs(error).argmax()]:+6.2f}')

if __name__ == '__main__':
    main(*sys.argv[1:])
