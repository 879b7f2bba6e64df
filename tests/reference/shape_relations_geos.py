"""Makes shape_relations_geos.json: pairs of shapes on whole metres and their nine-intersection matrices by GEOS.

Needs ogr2ogr of GDAL with the SQLite dialect of SpatiaLite; run in this folder.
"""
import csv, json, os, random, subprocess, tempfile

random.seed(1790)
R = random.randint

def at(): return (R(0, 8), R(0, 8))
def text(ps): return '(' + ','.join('%d %d' % p for p in ps) + ')'
def point(): return 'POINT' + text([at()])
def points(): return 'MULTIPOINT' + text(random.sample([(x, y) for x in range(9) for y in range(9)], R(2, 4)))

def corners(n):
    ps = [at()]
    while len(ps) < n:
        p = at()
        if p != ps[-1]: ps.append(p)
    return ps

def line(): return 'LINESTRING' + text(corners(R(2, 4)))
def lines(): return 'MULTILINESTRING(' + ','.join(text(corners(R(2, 3))) for _ in range(2)) + ')'
def box(w, s, e, n): return [(w, s), (e, s), (e, n), (w, n), (w, s)]

def rings():
    if R(0, 2) == 0:
        w, s = R(0, 4), R(0, 4); e, n = w + R(3, 4), s + R(3, 4)
        hole = box(w + 1, s + 1, e - 1, n - 1)
        return '(' + text(box(w, s, e, n)) + (',' + text(hole) if R(0, 1) else '') + ')'
    if R(0, 2) == 0:
        w, s = R(0, 6), R(0, 6)
        return '(' + text(box(w, s, w + R(1, 2), s + R(1, 2))) + ')'
    ps = random.sample([(x, y) for x in range(9) for y in range(9)], R(3, 5))
    return '(' + text(ps + ps[:1]) + ')'

def area(): return 'POLYGON' + rings()
def areas(): return 'MULTIPOLYGON(' + rings() + ',' + rings() + ')'

kinds = [point, points, line, lines, area, area, areas]
folder = tempfile.mkdtemp()
given, made = os.path.join(folder, 'pairs.csv'), os.path.join(folder, 'made.csv')
with open(given, 'w') as f:
    w = csv.writer(f); w.writerow(['k', 'a', 'b'])
    for k in range(6000): w.writerow([k, random.choice(kinds)(), random.choice(kinds)()])
sql = ("select k, a, b, ST_Relate(GeomFromText(a), GeomFromText(b)) as m, geos_version() as geos from pairs "
       "where ST_IsValid(GeomFromText(a)) = 1 and ST_IsValid(GeomFromText(b)) = 1")
subprocess.run(['ogr2ogr', '-f', 'CSV', made, given, '-dialect', 'sqlite', '-sql', sql], check=True, stderr=subprocess.DEVNULL)
rows = list(csv.DictReader(open(made)))
# of each kind of answer a few: disjoint pairs would fill the file
seen, kept = {}, []
for r in rows:
    key = (r['a'].split('(')[0], r['b'].split('(')[0], r['m'])
    seen[key] = seen.get(key, 0) + 1
    if seen[key] <= 2: kept.append(r)
version = subprocess.run(['ogr2ogr', '--version'], capture_output=True, text=True).stdout.split(',')[0]
json.dump({
    'source': 'Synthetic shapes (invented, free of conditions). GEOS %s through SpatiaLite in %s: ST_Relate(a, b); made by shape_relations_geos.py' % (rows[0]['geos'], version),
    'method': 'dimensionally extended nine-intersection matrix',
    'input': {'pairs': [[r['a'], r['b']] for r in kept]},
    'expected': {'matrices': [r['m'] for r in kept]},
}, open('shape_relations_geos.json', 'w'))
print(len(rows), len(kept))
