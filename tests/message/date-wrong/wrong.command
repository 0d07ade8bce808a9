verify slip.trn --on 2026-11-01
