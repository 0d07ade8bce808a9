report
