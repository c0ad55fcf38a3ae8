//! Drawings and tables as bytes: nothing here touches the disk.
