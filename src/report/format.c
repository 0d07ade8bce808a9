#include "report/report.h"

const ReportFormat report_formats[] = {
    {"html", ".html", report_html},
    {"text", ".txt", report_text},
    {NULL, NULL, NULL},
};
