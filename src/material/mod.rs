//! Sheet: alloys, strengths, thicknesses, edges and cutting processes, each with source and confidence.

mod allowable;
mod edge;
mod edge_table;
mod error;
mod mark;
mod process;
mod service;
mod sheet;
mod stock;
mod thickness;

pub use allowable::{
    Allowable, PROOF_SHARE_OF_TENSILE, SET_REMOVAL_LARGEST_STRESS_RATIO, SET_REMOVAL_LEAST_HEIGHT_LOSS,
};
pub use edge::{EdgeFactor, EdgeFinish};
pub use edge_table::{EdgeRange, edge_range, edge_ranges};
pub use error::MaterialError;
pub use mark::Mark;
pub use process::{
    CuttingProcess, CuttingSpeed, ProcessRule, RuleTerm, SourcedRange, SourcedTabs, TabRule, processes,
};
pub use service::{Service, service_of};
pub use sheet::{Caution, Confidence, Family, Material, Setting, Sourced, ToleranceStandard};
pub use stock::{
    Refused, StockThicknesses, edge_factor, edge_factors, find, refused, stock, stock_thicknesses,
    strongest_allowable,
};
pub use thickness::{ToleranceClass, thickness_tolerance};
