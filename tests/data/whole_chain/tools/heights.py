"""Shape of the pressed arm from the solid model: heights of the arm's centre line (mid-surface, less half the sheet) and how far the arms stand proud."""
import numpy as np,sys,re
from dxfgeo import DxfGeo
def displacements(path,times):
    out={};cur=None;t=None
    for l in open(path):
        if l.startswith('  100C'): t=float(l[12:24])
        elif l.startswith(' -4'): cur={} if 'DISP' in l and any(abs(t-q)<1e-6 for q in times) else None
        elif l.startswith(' -3'):
            if cur: out[round(t)]=cur
            cur=None
        elif cur is not None and l.startswith(' -1'): cur[int(l[3:13])]=float(l[37:49])
    return out
def shape(case,name,stops=(0.5,0.95,0.99)):
    G=DxfGeo('results/'+case); path=f'work/{case}_{name}'; M=np.load(path+'_m.npz'); nid,P,R,reg,zf,corner=(M[k] for k in('nid','P','R','reg','zf','corner'))
    D=displacements(path+'.frd',[1.,2.,3.]); nk=nid.shape[1]; mid=nk//2
    eta=np.array([(r-G.e_out(p))/(G.e_in(p-G.al)-G.e_out(p)) if g==0 else 9. for p,r,g in zip(P,R,reg)])
    on=np.where((reg==0)&corner&(abs(eta-.5)<.02)&(P>=G.al-1e-9)&(P<=G.Th+1e-9))[0]; on=on[np.argsort(P[on])]
    a=np.degrees(P[on]-G.al); cols=[a,R[on],zf[on]]; note=[]
    arm=np.where((reg==0)&corner)[0]
    for k,q in enumerate(stops,1):
        if k not in D: cols.append(np.full(len(on),np.nan)); continue
        cols.append(zf[on]+[D[k][nid[i,mid]] for i in on])
        top=np.array([zf[i]+D[k][nid[i,nk-1]] for i in arm]); low=np.array([zf[i]+D[k][nid[i,0]] for i in arm]); c=cols[-1]
        j=top.argmax(); note.append(f'{100*q:.0f} % of travel: centre line at most {c.max():.4f} mm (radius {cols[1][c.argmax()]:.2f}), top face {top[j]:.4f} mm above the flat sheet (radius {R[arm[j]]:.2f}), hub {G.h*(1-q):.4f}')
    return np.array(cols).T,note
if __name__=='__main__':
    case,name,out=sys.argv[1:4]; C,note=shape(case,name)
    keep=np.unique(np.round(np.linspace(0,len(C)-1,min(len(C),40))).astype(int))
    np.savetxt(out,C[keep][:,[0,1,3,4,5]],delimiter=',',fmt=['%.3f','%.4f']+['%.5f']*3,header='angle_deg,radius_mm,half_mm,at_95_percent_mm,at_99_percent_mm',comments='')
    print(case,name); [print('  ',n) for n in note]
