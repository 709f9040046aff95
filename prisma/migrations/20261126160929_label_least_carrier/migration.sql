-- AlterTable
ALTER TABLE "Product" ADD COLUMN "labelLeastCarrierEnteredUnit" TEXT;
ALTER TABLE "Product" ADD COLUMN "labelLeastCarrierEnteredValue" REAL;
ALTER TABLE "Product" ADD COLUMN "labelLeastCarrierLPerHa" REAL;
