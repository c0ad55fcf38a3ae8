#!/usr/bin/env python3
"""One arm formed over a former and let go: elastic-plastic finite elements with CalculiX.

A flat ring sector (mid radius R, width B, thickness T, angle PHI) of 20-node reduced-integration solids. Step 1: every
section is brought level to the former's height at its angle (all nodes of the mid-surface line across the width are
given that height), outer end clamped. Step 2: let go except the outer end, the forces of the former taken off evenly; the inner
end stays level (its nodes keep one common height) and is free otherwise. Result: angle, height on the former, height left.
Usage: fe.py OUT M  with M the surface measure in the middle of the arm on the former."""
import math, subprocess, sys, os
R,B,T,PHI=30.0,float(os.environ.get('B','6.0')),1.5,math.radians(720)
E,NU,RP=185000.0,0.32143,float(os.environ.get('RP','300'))
G=E/2/(1+NU)
NA,NB,NT=120,6,4
FADE=math.radians(150)
out=sys.argv[1]; M=float(sys.argv[2])
def kt(r): return 1-8/math.pi**2*sum(1/(n*n*math.cosh(n*math.pi*r/2)) for n in range(1,30,2))
RISE=M*RP/(math.sqrt(3)*G*T*kt(B/T))*R*R   # mm per rad
def rise(a):
    return RISE*max(0,min(1,a/FADE,(PHI-a)/FADE))
def height(a):
    n=400; h=a/n
    return sum((rise((k+.5)*h))*h for k in range(n))
nodes={}; ident={}
def node(i,j,k):   # doubled indices
    key=(i,j,k)
    if key not in ident:
        ident[key]=len(ident)+1
        a=PHI*i/(2*NA); r=R+B*(0.5-j/(2*NB)); z=T*(k/(2*NT)-0.5)
        nodes[ident[key]]=(r*math.cos(a),r*math.sin(a),z)
    return ident[key]
els=[]
for i in range(NA):
    for j in range(NB):
        for k in range(NT):
            I,J,K=2*i,2*j,2*k
            c=[(0,0,0),(2,0,0),(2,2,0),(0,2,0),(0,0,2),(2,0,2),(2,2,2),(0,2,2),(1,0,0),(2,1,0),(1,2,0),(0,1,0),(1,0,2),(2,1,2),(1,2,2),(0,1,2),(0,0,1),(2,0,1),(2,2,1),(0,2,1)]
            # orientation: x along angle, y inward, z up: left-handed? angle x inward = up -> right-handed
            els.append([node(I+a,J+b,K+d) for a,b,d in c])
mid=[[ident[(i,j,NT)] for j in range(0,2*NB+1,2)] for i in range(0,2*NA+1,2)]
f=open(out+'.inp','w')
w=f.write
w('*NODE,NSET=ALL\n')
for n,(x,y,z) in nodes.items(): w(f'{n},{x:.9f},{y:.9f},{z:.9f}\n')
w('*ELEMENT,TYPE=C3D20R,ELSET=ARM\n')
for e,ns in enumerate(els,1):
    w(f'{e},'+','.join(map(str,ns[:10]))+',\n'+','.join(map(str,ns[10:]))+'\n')
def nset(name,ns):
    w(f'*NSET,NSET={name}\n')
    for n in ns: w(f'{n},\n')
outer=[v for (i,j,k),v in ident.items() if i==0]
inner=[v for (i,j,k),v in ident.items() if i==2*NA and k==NT]
nset('OUTER',outer)
w('*MATERIAL,NAME=S\n*ELASTIC\n%g,%g\n*PLASTIC\n%g,0.\n%g,1.\n'%(E,NU,RP,RP+0.001*E))
w('*SOLID SECTION,ELSET=ARM,MATERIAL=S\n')
# level inner end in both steps: equations z_n = z_ref
ref=inner[0]
w('*EQUATION\n')
for n in inner[1:]: w(f'2\n{n},3,1.,{ref},3,-1.\n')
w('*BOUNDARY\nOUTER,1,3\n')
w('*STEP,NLGEOM,INC=400\n*STATIC\n0.05,1.,1e-5,0.1\n*BOUNDARY\n')
for i,row in enumerate(mid):
    if i==0: continue
    h=height(PHI*i/NA)
    for n in row:
        if n in inner and n!=ref: continue
        w(f'{n},3,3,{h:.9f}\n')
w('*NODE PRINT,NSET=ALL,FREQUENCY=999\nU\n*END STEP\n')

pos=f.tell(); f.close()
base=open(out+'.inp').read().replace('U\n*END STEP','U\n*NODE PRINT,NSET=ALL,FREQUENCY=999\nRF\n*END STEP')
def run(name,text):
    open(name+'.inp','w').write(text)
    subprocess.run(['ccx',name],env=dict(os.environ,OMP_NUM_THREADS='2'),stdout=open(name+'.log','w'))
def tables(name):
    t=[]; cur=None
    for line in open(name+'.dat'):
        if line.strip().startswith(('displacements','forces')): cur={}; t.append((line.split()[0],cur)); continue
        p=line.split()
        if len(p)==4 and cur is not None: cur[int(p[0])]=[float(v) for v in p[1:]]
    return t
run(out,base)
t=tables(out)
rf=[d for k,d in t if k=='forces'][-1]
held=[n for i,row in enumerate(mid) if i for n in row if not(n in inner and n!=ref)]
# heat on the former takes nothing here; the held forces are taken off evenly
text=base.replace('*STEP,NLGEOM','*AMPLITUDE,NAME=OFF\n0.,1.,1.,0.\n*STEP,NLGEOM',1)
text+='*STEP,NLGEOM,INC=400\n*STATIC\n0.05,1.,1e-6,0.1\n*BOUNDARY,OP=NEW\nOUTER,1,3\n*CLOAD,OP=NEW,AMPLITUDE=OFF\n'
total=sum(rf[n][2] for n in inner if n in rf)
print('ref',rf[ref][2],'all inner',total,'max',max(abs(rf[n][2]) for n in held))
text+=''.join(f'{n},3,{(total if n==ref else rf[n][2]):.9g}\n' for n in held if n in rf)
text+='*NODE PRINT,NSET=ALL,FREQUENCY=999\nU\n*END STEP\n'
run(out,text)
u=[{n:v[2] for n,v in d.items()} for k,d in tables(out) if k=='displacements']
print('R',R,'B',B,'T',T,'RP',RP,'M',M,'rise',RISE,'slope',RISE/R)
for i in range(0,NA+1,10):
    n=mid[i][NB//2]
    print(round(math.degrees(PHI*i/NA),1),*(round(s.get(n,0),5) for s in u))
